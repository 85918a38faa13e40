// A job's news as it happens (server-sent events), with polling where a proxy swallows the stream.
import { address, api } from './client.js';
import { Fault } from './fault.js';

export interface JobProgress { stage: string; done: number; total: number; /** Of the job; none while polling. */ state?: string }
export interface Problem { title?: string; detail?: string; mend?: string; message?: string }
export interface Job {
  id: string;
  kind?: string;
  state: string; // "queued", "running", "done", "failed", "cancelled"
  stage?: string;
  done?: number;
  total?: number;
  trial?: string | null;
  problem?: Problem | null;
}
export interface JobWatcher {
  progress?: (progress: JobProgress) => void;
  done?: (data: unknown) => void;
  failed?: (fault: Fault) => void;
}

const faultOf = (data: unknown): Fault => {
  const given = (data ?? {}) as Problem & { problem?: Problem };
  const body = given.problem ?? given;
  return new Fault(422, body.title ?? 'failed', body.detail ?? body.message ?? '', { mend: body.mend ?? '' });
};

/** Follows a job until it ends. Returns a function that stops following (not the job). */
export function watchJob(id: string, watcher: JobWatcher): () => void {
  let over = false;
  let timer: ReturnType<typeof setTimeout> | undefined;
  const source = new EventSource(address(`/jobs/${id}/events`));
  const read = (event: Event) => JSON.parse((event as MessageEvent<string>).data || 'null') as unknown;
  const stop = () => { over = true; source.close(); clearTimeout(timer); };
  const end = (act: () => void) => { if (over) return; stop(); act(); };
  source.addEventListener('progress', (event) => watcher.progress?.(read(event) as JobProgress));
  source.addEventListener('done', (event) => end(() => watcher.done?.(read(event))));
  source.addEventListener('failed', (event) => end(() => watcher.failed?.(faultOf(read(event)))));
  const askSoon = () => {
    if (over || timer) return;
    timer = setTimeout(() => { timer = undefined; void poll(); }, 1500);
  };
  source.onerror = askSoon;
  async function poll(): Promise<void> {
    if (over) return;
    try {
      const { data } = await api.get<Job>(`/jobs/${id}`);
      if (data.stage) watcher.progress?.({ stage: data.stage, done: data.done ?? 0, total: data.total ?? 0 });
      if (data.state === 'done') end(() => watcher.done?.(data));
      if (data.state === 'failed' || data.state === 'cancelled') end(() => watcher.failed?.(faultOf(data.problem)));
    } catch (error) {
      const fault = Fault.of(error);
      if (!fault.offline && fault.status < 500 && fault.status !== 429) end(() => watcher.failed?.(fault));
    }
    // A stream that was refused (a restart behind a proxy, too many) never comes back by itself.
    if (source.readyState === EventSource.CLOSED) askSoon();
  }
  return stop;
}

/** Asks the server to stop a job. */
export async function cancelJob(id: string): Promise<void> { await api.delete(`/jobs/${id}`); }
