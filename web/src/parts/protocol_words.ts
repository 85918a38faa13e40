// How the built-in tests are done, in the language of the app; own tests stay as they were written. See drill_words.ts.
import { currentLanguage } from '../words/index.js';
import type { ProtocolWords } from '../words/de_protocols.js';
import { protocolName } from './library_names.js';

let words: Readonly<Record<string, ProtocolWords>> | undefined;

/** Before a test is shown: the words are there after it. */
export async function loadProtocolWords(): Promise<void> {
  words = currentLanguage() === 'de' ? (await import('../words/de_protocols.js')).protocolsDe : undefined;
}

export function protocolInWords<T extends { id: string; name: string; purpose: string; position: string; steps: string[] }>(protocol: T): T {
  const own = words?.[protocol.id];
  const name = protocolName(protocol);
  return own ? { ...protocol, name, purpose: own.purpose, position: own.position, steps: [...own.steps] } : { ...protocol, name };
}
