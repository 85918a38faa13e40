// Names of tests and drills in the language of the app: the built-in ones by their id, own ones as they were named.
import { wordFor } from '../words/index.js';

const key = (id: string): string => id.replaceAll('-', '_');
export const protocolName = (one: { id: string; name: string }): string => wordFor('protocol_name', key(one.id), one.name);
export const drillName = (one: { id: string; name: string }): string => wordFor('drill_name', key(one.id), one.name);
