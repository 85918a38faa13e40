// What is asked of the server before anything is shown.
import { api } from '../api/client.js';
import type { ServerStatus } from '../api/types.js';
import { status } from './store.js';

/** True when this is a first start: nobody owns the place yet. */
export async function readStatus(): Promise<boolean> {
  const { data } = await api.get<ServerStatus>('/status');
  status.set(data);
  return data.needs_owner;
}
