// Test entries and logs made without a connection wait on this device and are sent later, each with the key that keeps the
// server from taking it twice. Nothing is thrown away by itself: what the server refuses stays, with the reason.
import { session, line, say } from '../shell/store.js';
import { plural } from '../words/index.js';
import { api, randomId, type Answer } from './client.js';
import { Fault } from './fault.js';
import { putTogether, type Read } from './together.js';

export interface Waiting {
  id: string;
  method: 'POST' | 'PUT';
  path: string;
  body: unknown;
  version?: string | number;
  /** Of a PUT: what was read and changed. With it a change of somebody else's, or one that waited before it, is kept beside this one. */
  read?: Read<unknown>;
  /** In words, for the list of what waits: "Tests of Ansa Brinvik". */
  what: string;
  made: string;
  person: string;
  fault?: string;
}

let opened: Promise<IDBDatabase> | undefined;
function open(): Promise<IDBDatabase> {
  opened ??= new Promise((done, fail) => {
    const request = indexedDB.open('lintel', 1);
    request.onupgradeneeded = () => request.result.createObjectStore('waiting', { keyPath: 'id' });
    request.onsuccess = () => done(request.result);
    request.onerror = () => fail(request.error);
  });
  return opened;
}
async function store<T>(mode: IDBTransactionMode, act: (s: IDBObjectStore) => IDBRequest<T>): Promise<T> {
  const database = await open();
  return new Promise((done, fail) => {
    const request = act(database.transaction('waiting', mode).objectStore('waiting'));
    request.onsuccess = () => done(request.result);
    request.onerror = () => fail(request.error);
  });
}

/** What waits, of the person signed in, the oldest first. */
export async function waitingWrites(): Promise<Waiting[]> {
  const all = await store('readonly', (s) => s.getAll() as IDBRequest<Waiting[]>);
  return all.filter((one) => one.person === session.value?.person).sort((a, b) => a.made.localeCompare(b.made));
}
/** What waits for one address, apart from what the server has refused. */
export async function waitingAt(path: string): Promise<Waiting[]> {
  return (await waitingWrites().catch(() => [])).filter((one) => one.path === path && !one.fault);
}
async function count(): Promise<void> {
  line.change({ waiting: (await waitingWrites().catch(() => [])).length });
}
export async function dropWaiting(id: string): Promise<void> {
  await store('readwrite', (s) => s.delete(id));
  await count();
}
/** On signing out from a shared device. What waits of somebody else stays until they are back: only they can send it. */
export async function dropEverythingKept(): Promise<void> {
  for (const one of await waitingWrites().catch(() => [])) await store('readwrite', (s) => s.delete(one.id)).catch(() => undefined);
  for (const name of await (globalThis.caches?.keys() ?? [])) if (name.startsWith('lintel-seen')) await caches.delete(name);
  line.change({ waiting: 0 });
}

export type Outcome<T> = { sent: true; answer: Answer<T> } | { sent: false };
/** Sends a write, or keeps it for later when the server is not reached. Other faults are thrown. */
export async function sendOrKeep<T>(write: Pick<Waiting, 'method' | 'path' | 'body' | 'version' | 'read' | 'what'>): Promise<Outcome<T>> {
  const kept: Waiting = { ...write, id: randomId(), made: new Date().toISOString(), person: session.value?.person ?? '' };
  try {
    return { sent: true, answer: await transmit<T>(kept) };
  } catch (error) {
    if (!Fault.of(error).offline) throw error;
    await store('readwrite', (s) => s.put(kept));
    await count();
    return { sent: false };
  }
}
function transmit<T>(one: Waiting): Promise<Answer<T>> {
  if (one.method === 'PUT' && one.read) return putTogether<Read<unknown>>(one.path, one.read, one.body) as Promise<Answer<unknown>> as Promise<Answer<T>>;
  const options = { idempotencyKey: one.id, version: one.version };
  return one.method === 'POST' ? api.post<T>(one.path, one.body, options) : api.put<T>(one.path, one.body, options);
}

let sending = false;
/** Sends all that waits, in order; stops when the server is not reached. */
export async function sendWaiting(): Promise<void> {
  if (sending || !session.value) return;
  sending = true;
  let sent = 0;
  try {
    for (const one of await waitingWrites()) {
      if (one.person !== session.value?.person) break; // somebody else has signed in meanwhile
      try {
        await transmit(one);
        await store('readwrite', (s) => s.delete(one.id));
        sent++;
      } catch (error) {
        const fault = Fault.of(error);
        if (fault.offline) break;
        await store('readwrite', (s) => s.put({ ...one, fault: fault.message || fault.title }));
      }
    }
  } finally {
    sending = false;
    await count();
    if (sent > 0) say(plural('sent_now', sent));
  }
}

export function startQueue(): void {
  void count();
  let before = line.value.online;
  line.watch(({ online, waiting }) => {
    const back = online && !before;
    before = online;
    if (back && waiting > 0) void sendWaiting();
  });
  session.watch((who) => { if (who) void sendWaiting(); });
  if (session.value) void sendWaiting();
}
