// German. A key that is missing here does not compile.
import { libraryDe } from './de_library.js';
import { accountDe } from './de_account.js';
import { historyDe } from './de_history.js';
import { paperDe } from './de_paper.js';
import { serverDe } from './de_server.js';
import { shellDe } from './de_shell.js';
import { visitDe } from './de_visit.js';
import type { Words } from './index.js';

export const de: Words = { ...shellDe, ...libraryDe, ...visitDe, ...historyDe, ...accountDe, ...paperDe, ...serverDe };
