// usage: node web/test/run.mjs [FILE.test.mjs ...]: runs the tests one file after the other; exit 77 = skipped, and why.
import { spawnSync } from 'node:child_process';
import { existsSync, readdirSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const here = dirname(fileURLToPath(import.meta.url));
const skip = (why) => { console.log(`SKIPPED: ${why}`); process.exit(77); };
if (!existsSync(join(here, '..', 'node_modules', 'playwright-core'))) skip('web/node_modules is missing (scripts/setup test fetches it)');
const browser = process.env.CHROMIUM ?? '/usr/bin/chromium';
const files = process.argv.length > 2 ? process.argv.slice(2) : readdirSync(here).filter((name) => name.endsWith('.test.mjs')).sort();
let failed = 0;
for (const file of files) {
  if (!file.startsWith('unit') && !existsSync(browser)) skip(`there is no Chromium at ${browser} (apt-get install chromium)`);
  const { status } = spawnSync(process.execPath, ['--test', join(here, file)], { stdio: 'inherit' });
  if (status !== 0) failed = 1;
}
process.exit(failed);
