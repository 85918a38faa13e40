// What the whole app knows: the session, the settings of this device, the frame around the page, the status line.
import { api, onReached, useCsrfToken } from '../api/client.js';
import { Fault } from '../api/fault.js';
import type { Session, ServerStatus } from '../api/types.js';
import type { System } from '../units.js';
import { useLanguage, type Language } from '../words/index.js';
import type { TemplateResult } from 'lit';

/** A value with listeners. */
export class Store<T> {
  private listeners = new Set<(value: T) => void>();
  constructor(private current: T) {}
  get value(): T { return this.current; }
  set(value: T): void {
    this.current = value;
    for (const listener of [...this.listeners]) listener(value);
  }
  change(part: Partial<T>): void { this.set({ ...this.current, ...part }); }
  /** Returns the function that ends it. */
  watch(listener: (value: T) => void): () => void {
    this.listeners.add(listener);
    return () => this.listeners.delete(listener);
  }
}

// ---- The frame: beam (where you are), right post (what to do next), left post (where to go)

export interface Crumb { label: string; href?: string }
export interface Action {
  label: string;
  href?: string;
  act?: () => void;
  /** The thing to do now; one at most. */
  first?: boolean;
  icon?: TemplateResult;
  disabled?: boolean;
}
export interface Frame {
  /** From outside to inside; the last one is this page and becomes the title of the window. */
  place: Crumb[];
  next: Action[];
  /** Under the actions in the right post: a tip, a state. */
  note?: TemplateResult | string;
  athlete?: { id: string; name: string };
  visit?: { id: string; date: string };
  /** First start and sign in: beam only. */
  alone?: boolean;
  /** More room for the work: no right post. */
  wide?: boolean;
}
export const emptyFrame: Frame = { place: [], next: [] };
export const frame = new Store<Frame>(emptyFrame);

// ---- Session

export const session = new Store<Session | undefined>(undefined);
export const status = new Store<ServerStatus | undefined>(undefined);

/** Asks who is signed in; undefined = nobody. Throws Fault when the server cannot be reached. */
export async function readSession(): Promise<Session | undefined> {
  try {
    const { data } = await api.get<Session>('/session');
    useCsrfToken(data.csrf_token);
    session.set(data);
    return data;
  } catch (error) {
    const fault = Fault.of(error);
    if (!fault.signedOut) throw fault;
    session.set(undefined);
    return undefined;
  }
}
export const may = (permission: string): boolean => session.value?.permissions?.includes(permission) ?? false;

// ---- Settings of this device (kept in the browser; nothing personal)

export interface DeviceSettings { units: System; language: Language; theme: 'system' | 'light' | 'dark' }
const key = 'lintel-settings';
function readSettings(): DeviceSettings {
  const wanted = navigator.language.startsWith('de') ? 'de' : 'en';
  const usual: DeviceSettings = { units: 'metric', language: wanted, theme: 'system' };
  try {
    return { ...usual, ...(JSON.parse(localStorage.getItem(key) ?? '{}') as Partial<DeviceSettings>) };
  } catch {
    return usual;
  }
}
export const settings = new Store<DeviceSettings>(readSettings());
export async function applySettings(): Promise<void> {
  const { language, theme } = settings.value;
  if (theme === 'system') delete document.documentElement.dataset['theme'];
  else document.documentElement.dataset['theme'] = theme;
  await useLanguage(language);
}
export async function changeSettings(part: Partial<DeviceSettings>): Promise<void> {
  settings.change(part);
  localStorage.setItem(key, JSON.stringify(settings.value));
  await applySettings();
  settings.set(settings.value); // now in the new language
}

// ---- The status line: one sentence, read out, gone after a while; never the only place of an error

export const statusLine = new Store<string>('');
let fading: ReturnType<typeof setTimeout> | undefined;
export function say(words: string, seconds = 5): void {
  clearTimeout(fading);
  statusLine.set(words);
  fading = setTimeout(() => statusLine.set(''), seconds * 1000);
}

// ---- Reached or not, and what waits to be sent

export interface Line { online: boolean; waiting: number }
export const line = new Store<Line>({ online: navigator.onLine, waiting: 0 });
onReached((online) => { if (line.value.online !== online) line.change({ online }); });
addEventListener('online', () => line.change({ online: true }));
addEventListener('offline', () => line.change({ online: false }));
