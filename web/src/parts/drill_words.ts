// How the built-in drills are done, in the language of the app. English is what the server sends; other languages are
// fetched when a drill is first shown. Own drills stay as they were written.
import { currentLanguage } from '../words/index.js';
import type { DrillWords } from '../words/de_drills.js';
import { drillName } from './library_names.js';

let words: Readonly<Record<string, DrillWords>> | undefined;

/** Before drills are shown: the words are there after it. */
export async function loadDrillWords(): Promise<void> {
  words = currentLanguage() === 'de' ? (await import('../words/de_drills.js')).drillsDe : undefined;
}

interface Rung { name: string; how: string; easier?: string; harder?: string; move_on?: string }
interface Texts {
  name: string; purpose?: string; position?: string; steps?: string[]; cues?: string[]; cautions?: string[]; ladder?: Rung[];
  /** A drill of a plan stands on one step of its ladder, counted from 1. */
  step?: number; step_name?: string; step_how?: string; move_on?: string;
}

/** A card, a drill of a plan or of today with its texts in the language. What has another number of lines than the library's drill (an older plan) stays as it is. */
export function drillInWords<T extends Texts>(id: string, drill: T): T {
  const own = words?.[id];
  const name = drillName({ id, name: drill.name });
  if (!own) return { ...drill, name };
  const lines = (given: string[] | undefined, said: readonly string[]) => (given && given.length === said.length ? [...said] : given);
  const rung = drill.step_how === undefined ? undefined : own.ladder[(drill.step ?? 0) - 1];
  return {
    ...drill, name,
    ...(drill.purpose === undefined ? {} : { purpose: own.purpose }), ...(drill.position === undefined ? {} : { position: own.position }),
    ...(drill.steps ? { steps: lines(drill.steps, own.steps) } : {}), ...(drill.cues ? { cues: lines(drill.cues, own.cues) } : {}), ...(drill.cautions ? { cautions: lines(drill.cautions, own.cautions) } : {}),
    ...(drill.ladder?.length === own.ladder.length ? { ladder: drill.ladder.map((one, i) => ({ ...one, ...own.ladder[i] })) } : {}),
    ...(rung ? { ...(drill.step_name === undefined ? {} : { step_name: rung.name }), step_how: rung.how, ...(drill.move_on === undefined ? {} : { move_on: rung.move_on }) } : {}),
  };
}
