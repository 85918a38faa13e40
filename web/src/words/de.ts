// German. A key that is missing here does not compile.
import { shellDe } from './de_shell.js';
import { visitDe } from './de_visit.js';
import type { Words } from './index.js';

export const de: Words = { ...shellDe, ...visitDe };
