// Clips go up in pieces; after a break the upload goes on where the server has it.
import { randomId, send } from './client.js';
import { Fault } from './fault.js';

export interface UploadState { sent: number; total: number; waiting: boolean }
export interface Uploaded { id: string; sha256: string }
interface Begun { id: string; offset: number; chunk_bytes: number }
interface Stored { offset: number; complete: boolean; sha256?: string }

export interface UploadOptions {
  /** "/uploads", or "/hand-off/{secret}/uploads" for the one-time page. */
  base?: string;
  signal?: AbortSignal;
  onProgress?: (state: UploadState) => void;
}

const memory = (file: File, base: string) => `lintel-upload:${base}:${file.name}:${file.size}:${file.lastModified}`;
const pause = (ms: number, signal?: AbortSignal) => new Promise<void>((done, fail) => {
  const timer = setTimeout(done, ms);
  signal?.addEventListener('abort', () => { clearTimeout(timer); fail(new DOMException('stopped', 'AbortError')); });
});

async function begin(file: File, base: string, signal?: AbortSignal): Promise<Begun> {
  const kept = sessionStorage.getItem(memory(file, base));
  if (kept) {
    const begun = JSON.parse(kept) as Begun;
    try {
      const head = await send('HEAD', `${base}/${begun.id}`, undefined, { signal });
      return { ...begun, offset: Number(head.headers.get('Upload-Offset') ?? 0) };
    } catch (error) {
      if (!(error instanceof Fault) || error.offline) throw error;
      sessionStorage.removeItem(memory(file, base)); // the server has forgotten it
    }
  }
  const answer = await send('POST', base, { name: file.name, bytes: file.size }, { signal, idempotencyKey: randomId() });
  const begun = (await answer.json()) as Begun;
  sessionStorage.setItem(memory(file, base), JSON.stringify(begun));
  return begun;
}

/** Sends a file; survives broken connections. Throws Fault, or AbortError when stopped. */
export async function uploadFile(file: File, options: UploadOptions = {}): Promise<Uploaded> {
  const base = options.base ?? '/uploads';
  let begun = await begin(file, base, options.signal);
  let offset = begun.offset;
  let sha256 = '';
  let failures = 0;
  const tell = (waiting: boolean) => options.onProgress?.({ sent: offset, total: file.size, waiting });
  tell(false);
  while (offset < file.size) {
    const end = Math.min(file.size, offset + (begun.chunk_bytes || 4 << 20));
    try {
      const answer = await send('PUT', `${base}/${begun.id}`, file.slice(offset, end), {
        signal: options.signal,
        headers: { 'Content-Range': `bytes ${offset}-${end - 1}/${file.size}`, 'Content-Type': 'application/octet-stream' },
      });
      const stored = (await answer.json()) as Stored;
      offset = stored.offset;
      sha256 = stored.sha256 ?? '';
      failures = 0;
    } catch (error) {
      const fault = Fault.of(error);
      if (error instanceof DOMException || (!fault.offline && fault.status < 500 && fault.status !== 409 && fault.status !== 416)) throw error;
      if (++failures > 8) throw error;
      tell(true);
      await pause(Math.min(8000, 400 * 2 ** failures), options.signal);
      begun = await begin(file, base, options.signal).catch(() => begun);
      offset = begun.offset;
    }
    tell(false);
  }
  sessionStorage.removeItem(memory(file, base));
  return { id: begun.id, sha256 };
}

/** Throws away what has arrived of an upload. */
export async function dropUpload(id: string, base = '/uploads'): Promise<void> {
  await send('DELETE', `${base}/${id}`);
}

