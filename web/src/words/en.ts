// English, complete; the other languages are checked against this file.
import { libraryEn } from './en_library.js';
import { accountEn } from './en_account.js';
import { findingsEn } from './en_findings.js';
import { historyEn } from './en_history.js';
import { paperEn } from './en_paper.js';
import { serverEn } from './en_server.js';
import { shellEn } from './en_shell.js';
import { trendsEn } from './en_trends.js';
import { visitEn } from './en_visit.js';
import { whatIfEn } from './en_what_if.js';

export const en = { ...shellEn, ...libraryEn, ...visitEn, ...trendsEn, ...historyEn, ...accountEn, ...paperEn, ...serverEn, ...findingsEn, ...whatIfEn } as const;
