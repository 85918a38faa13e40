// The one way to the server: JSON in and out, faults as Fault, versions as ETag, writes with the token of the session.
import { Fault } from './fault.js';

export const root = '/api/v1';

export interface Answer<T> {
  data: T;
  /** For `version` of a later put; empty if the answer has none. */
  etag: string;
  status: number;
  /** From the device's store because the server was not reached. */
  kept: boolean;
}
export interface Options {
  signal?: AbortSignal;
  /** ETag or version number for If-Match. */
  version?: string | number;
  /** Chosen by itself for a POST; give one to repeat a POST that may have arrived. */
  idempotencyKey?: string;
  headers?: Record<string, string>;
  query?: Record<string, string | number | boolean | undefined | null>;
}

let csrf = '';
export function useCsrfToken(token: string): void { csrf = token; }

type Listener = (fault: Fault) => void;
let whenSignedOut: Listener = () => undefined;
/** Called on 401 for anything but the session itself. */
export function onSignedOut(listener: Listener): void { whenSignedOut = listener; }

let whenReached: (reached: boolean) => void = () => undefined;
/** Told after every answer whether the server gave it, or this device's store, or nobody. */
export function onReached(listener: typeof whenReached): void { whenReached = listener; }

/** Random id; works without a secure context, where crypto.randomUUID is missing. */
export function randomId(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6]! & 0x0f) | 0x40;
  bytes[8] = (bytes[8]! & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, '0')).join('');
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-${hex.slice(12, 16)}-${hex.slice(16, 20)}-${hex.slice(20)}`;
}

export function address(path: string, query: Options['query'] = {}): string {
  const pairs = Object.entries(query).filter(([, value]) => value !== undefined && value !== null && value !== '');
  const text = new URLSearchParams(pairs.map(([key, value]) => [key, String(value)])).toString();
  const base = path.startsWith('/api/') || path.startsWith('/u/') ? path : root + path;
  return text ? `${base}?${text}` : base;
}

function requestOf(method: string, body: unknown, options: Options): RequestInit {
  const headers: Record<string, string> = { Accept: 'application/json', ...options.headers };
  const init: RequestInit = { method, headers, credentials: 'same-origin' };
  if (options.signal) init.signal = options.signal;
  if (body instanceof Blob || body instanceof ArrayBuffer) init.body = body;
  else if (body !== undefined) {
    headers['Content-Type'] ??= 'application/json';
    init.body = JSON.stringify(body);
  }
  if (method !== 'GET' && method !== 'HEAD') {
    if (csrf) headers['X-Lintel-Token'] = csrf;
    if (method === 'POST') headers['Idempotency-Key'] = options.idempotencyKey ?? randomId();
    if (options.version !== undefined) {
      const version = String(options.version);
      headers['If-Match'] = version.startsWith('"') || version.startsWith('W/') ? version : `"${version}"`;
    }
  }
  return init;
}

/** Any request; throws Fault. Use it for what is not JSON (a file, a CSV). */
export async function send(method: string, path: string, body?: unknown, options: Options = {}): Promise<Response> {
  let response: Response;
  try {
    response = await fetch(address(path, options.query), requestOf(method, body, options));
  } catch (error) {
    if (error instanceof DOMException && error.name === 'AbortError') throw error;
    whenReached(false);
    throw new Fault(0, 'offline', '');
  }
  whenReached(response.headers.get('X-Lintel-Kept') !== '1');
  if (response.ok) return response;
  const fault = await Fault.from(response);
  if (fault.signedOut && !path.startsWith('/session')) whenSignedOut(fault);
  throw fault;
}

async function ask<T>(method: string, path: string, body: unknown, options: Options): Promise<Answer<T>> {
  const response = await send(method, path, body, options);
  const text = response.status === 204 ? '' : await response.text();
  return {
    data: (text ? JSON.parse(text) : undefined) as T,
    etag: response.headers.get('ETag') ?? '',
    status: response.status,
    kept: response.headers.get('X-Lintel-Kept') === '1',
  };
}

/** POSTs that have no answer yet: pressed twice it is one; after a broken connection it goes again under the same key, for it may have arrived. */
const unanswered = new Map<string, { key: string; answer: Promise<Answer<unknown>> | undefined }>();
function postOnce<T>(path: string, body: unknown, options: Options): Promise<Answer<T>> {
  if (options.idempotencyKey || options.signal || body instanceof Blob || body instanceof ArrayBuffer) return ask<T>('POST', path, body, options);
  const name = JSON.stringify([address(path, options.query), body, options.version]);
  const one = unanswered.get(name) ?? { key: randomId(), answer: undefined };
  unanswered.set(name, one);
  one.answer ??= ask<unknown>('POST', path, body, { ...options, idempotencyKey: one.key }).then(
    (answer) => { unanswered.delete(name); return answer; },
    (error: unknown) => {
      if (Fault.of(error).offline) one.answer = undefined;
      else unanswered.delete(name);
      throw error;
    });
  return one.answer as Promise<Answer<T>>;
}

export const api = {
  get: <T>(path: string, options: Options = {}) => ask<T>('GET', path, undefined, options),
  post: <T>(path: string, body?: unknown, options: Options = {}) => postOnce<T>(path, body, options),
  put: <T>(path: string, body?: unknown, options: Options = {}) => ask<T>('PUT', path, body, options),
  delete: <T = void>(path: string, options: Options = {}) => ask<T>('DELETE', path, undefined, options),
  /** Every page of a list answer, at most `limit` items. */
  async all<T>(path: string, options: Options = {}, limit = 2000): Promise<T[]> {
    const items: T[] = [];
    let after: string | null | undefined;
    do {
      const query = { limit: 200, ...options.query, after: after ?? undefined };
      const { data } = await ask<{ items: T[]; next?: string | null }>('GET', path, undefined, { ...options, query });
      items.push(...data.items);
      after = data.next;
    } while (after && items.length < limit);
    return items;
  },
};
