// English, complete; the other languages are checked against this file.
import { shellEn } from './en_shell.js';
import { visitEn } from './en_visit.js';

export const en = { ...shellEn, ...visitEn } as const;
