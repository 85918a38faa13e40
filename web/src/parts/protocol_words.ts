// How the built-in tests are done, in the language of the app; own tests stay as they were written. See drill_words.ts.
import { currentLanguage } from '../words/index.js';
import type { ProtocolMore, ProtocolWords } from '../words/de_protocols.js';
import { protocolName } from './library_names.js';

let words: Readonly<Record<string, ProtocolWords>> | undefined;
let more: Readonly<Record<string, ProtocolMore>> | undefined;

/** Before a test is shown: the words are there after it. */
export async function loadProtocolWords(): Promise<void> {
  const german = currentLanguage() === 'de' ? await import('../words/de_protocols.js') : undefined;
  words = german?.protocolsDe;
  more = german?.protocolMoreDe;
}

interface Told { id: string; name: string; purpose: string; position: string; steps: string[]; informs?: { text?: string } | null; photo?: { camera?: string } | null; norms?: { population: string }[]; norms_note?: string }

export function protocolInWords<T extends Told>(protocol: T): T {
  const own = words?.[protocol.id];
  const name = protocolName(protocol);
  if (!own) return { ...protocol, name };
  const { informs, camera, note, norms } = more?.[protocol.id] ?? {};
  return { ...protocol, name, purpose: own.purpose, position: own.position, steps: [...own.steps],
    ...(protocol.informs && informs ? { informs: { ...protocol.informs, text: informs } } : {}), ...(protocol.photo && camera ? { photo: { ...protocol.photo, camera } } : {}),
    ...(protocol.norms_note && note ? { norms_note: note } : {}),
    ...(protocol.norms && norms?.length === protocol.norms.length ? { norms: protocol.norms.map((one, i) => ({ ...one, population: norms[i]! })) } : {}) };
}
