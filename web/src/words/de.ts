// German. A key that is missing here does not compile.
import { libraryDe } from './de_library.js';
import { accountDe } from './de_account.js';
import { findingsDe } from './de_findings.js';
import { historyDe } from './de_history.js';
import { paperDe } from './de_paper.js';
import { serverDe } from './de_server.js';
import { shellDe } from './de_shell.js';
import { trendsDe } from './de_trends.js';
import { visitDe } from './de_visit.js';
import { whatIfDe } from './de_what_if.js';
import type { Words } from './index.js';

export const de: Words = { ...shellDe, ...libraryDe, ...visitDe, ...trendsDe, ...historyDe, ...accountDe, ...paperDe, ...serverDe, ...findingsDe, ...whatIfDe };
