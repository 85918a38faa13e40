// Clips on their way to the server, by visit. They go on when the page is left: while a clip is sent one enters the tests.
import { say, Store } from '../shell/store.js';
import { t } from '../words/index.js';
import { api } from './client.js';
import { Fault } from './fault.js';
import { uploadFile, type UploadState } from './uploads.js';

export interface Sending extends UploadState { name: string; fault?: Fault }
export const sendings = new Store<Record<string, Sending>>({});
const stops = new Map<string, AbortController>();

const change = (visit: string, sending: Sending | undefined): void => {
  const { [visit]: _, ...rest } = sendings.value;
  sendings.set(sending ? { ...rest, [visit]: sending } : rest);
};
export const onTheWay = (visit: string): boolean => stops.has(visit);

/** Sends a clip and makes a trial of it, with what `about` says when it has arrived. Undefined = stopped, or failed: then the fault stands in `sendings`. */
export async function sendClip<T>(visit: string, file: File, about: () => Record<string, unknown>): Promise<T | undefined> {
  if (stops.has(visit)) return undefined;
  const stop = new AbortController();
  stops.set(visit, stop);
  change(visit, { name: file.name, sent: 0, total: file.size, waiting: false });
  try {
    const { id } = await uploadFile(file, { signal: stop.signal, onProgress: (state) => change(visit, { ...state, name: file.name }) });
    const { data } = await api.post<T>(`/visits/${visit}/trials`, { upload: id, ...about() });
    end(visit);
    return data;
  } catch (error) {
    end(visit);
    if (error instanceof DOMException && error.name === 'AbortError') return undefined;
    const fault = Fault.of(error);
    change(visit, { name: file.name, sent: 0, total: file.size, waiting: false, fault });
    say(fault.offline ? t('fault_offline') : fault.message || fault.title, 15);
    return undefined;
  }
}
function end(visit: string): void {
  stops.delete(visit);
  change(visit, undefined);
}
export function stopSending(visit: string): void { stops.get(visit)?.abort(); }

// Closing the window would break it off.
addEventListener('beforeunload', (event) => { if (stops.size > 0) event.preventDefault(); });
