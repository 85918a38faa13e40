// Builds the web app into dist/: split by page, hashed names, minified, each file also as .gz and .br.
// usage: node build.mjs [--watch] [--out FOLDER] [--embed FILE.cpp]
//   --embed also writes one C++ source with every file, for the program (web/CMakeLists.txt).
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { dirname, join, relative } from 'node:path';
import { fileURLToPath } from 'node:url';
import { brotliCompressSync, constants, gzipSync } from 'node:zlib';
import * as esbuild from 'esbuild';

const here = dirname(fileURLToPath(import.meta.url));
const option = (name) => {
  const at = process.argv.indexOf(name);
  return at < 0 ? undefined : process.argv[at + 1];
};
const out = option('--out') ?? join(here, 'dist');
const version = JSON.parse(readFileSync(join(here, 'package.json'), 'utf8')).version;

const common = {
  bundle: true,
  minify: true,
  target: ['es2022'],
  charset: 'utf8',
  legalComments: 'none',
  logLevel: 'warning',
  define: { 'process.env.NODE_ENV': '"production"' },
  loader: { '.woff2': 'file' },
  assetNames: 'assets/[name]-[hash]',
};

function files(folder) {
  return readdirSync(folder, { withFileTypes: true })
    .flatMap((entry) => {
      const path = join(folder, entry.name);
      return entry.isDirectory() ? files(path) : [path];
    })
    .sort();
}

/** Where esbuild put what: source entry -> served path. */
function outputs(meta) {
  const table = {};
  for (const [path, info] of Object.entries(meta.outputs)) {
    if (info.entryPoint) table[info.entryPoint] = '/' + relative(out, join(here, path));
  }
  return table;
}

/** Everything that the start page loads before a page of its own: the entry and its static imports. */
function firstLoad(meta, entry) {
  const found = new Set();
  const visit = (path) => {
    if (found.has(path)) return;
    found.add(path);
    for (const one of meta.outputs[path]?.imports ?? []) {
      if (one.kind === 'import-statement') visit(one.path);
    }
  };
  visit(Object.keys(meta.outputs).find((path) => meta.outputs[path].entryPoint === entry));
  return [...found].map((path) => '/' + relative(out, join(here, path)));
}

function page(template, values) {
  return readFileSync(join(here, 'src', template), 'utf8').replace(/\{\{(\w+)\}\}/g, (_, key) => {
    if (!(key in values)) throw new Error(`${template}: nothing for {{${key}}}`);
    return values[key];
  });
}

async function build() {
  rmSync(out, { recursive: true, force: true });
  mkdirSync(out, { recursive: true });
  const styles = await esbuild.build({
    ...common,
    absWorkingDir: here,
    entryPoints: ['src/styles/app.css', 'src/styles/upload.css'],
    outdir: out,
    entryNames: 'assets/[name]-[hash]',
    metafile: true,
  });
  const papers = await esbuild.build({
    ...common,
    absWorkingDir: here,
    entryPoints: ['src/worker/pdf_worker.ts'],
    outdir: out,
    format: 'esm',
    entryNames: 'assets/[name]-[hash]',
    metafile: true,
  });
  const scripts = await esbuild.build({
    ...common,
    absWorkingDir: here,
    entryPoints: ['src/main.ts', 'src/upload/main.ts'],
    outdir: out,
    format: 'esm',
    splitting: true,
    entryNames: 'assets/[name]-[hash]',
    chunkNames: 'assets/[name]-[hash]',
    metafile: true,
    define: { ...common.define, VERSION: JSON.stringify(version), PDF_WORKER: JSON.stringify(outputs(papers.metafile)['src/worker/pdf_worker.ts']) },
  });
  const css = outputs(styles.metafile);
  const js = outputs(scripts.metafile);
  const font = files(join(out, 'assets')).find((path) => /latin-wght-normal.*woff2$/.test(path));
  const first = firstLoad(scripts.metafile, 'src/main.ts');
  const values = {
    css: css['src/styles/app.css'],
    uploadCss: css['src/styles/upload.css'],
    main: js['src/main.ts'],
    upload: js['src/upload/main.ts'],
    font: '/' + relative(out, font),
    preload: first
      .filter((path) => path !== js['src/main.ts'])
      .map((path) => `<link rel="modulepreload" href="${path}">`)
      .join('\n  '),
  };
  writeFileSync(join(out, 'index.html'), page('index.html', values));
  writeFileSync(join(out, 'upload.html'), page('upload.html', values));
  for (const name of ['icon.svg', 'manifest.webmanifest']) {
    writeFileSync(join(out, name), readFileSync(join(here, 'src', name)));
  }
  writeFileSync(join(out, 'licenses.txt'), licenses());
  await serviceWorker();
  compress();
  report(['/index.html', values.css, values.font, ...first]);
}

/** The licences of what is built in, as they ask to be handed on. */
function licenses() {
  const parts = ['lit', 'lit-html', 'lit-element', '@lit/reactive-element', 'uplot', 'pdfjs-dist', '@fontsource-variable/atkinson-hyperlegible-next'];
  return parts.map((name) => {
    const folder = join(here, 'node_modules', name);
    const { version: of, license } = JSON.parse(readFileSync(join(folder, 'package.json'), 'utf8'));
    return `${name} ${of} (${license})\n\n${readFileSync(join(folder, 'LICENSE'), 'utf8').trim()}\n`;
  }).join('\n' + '-'.repeat(78) + '\n\n');
}

/** What the app does not need to start without a connection: the phone's page, and what draws papers (they are not kept either). */
const seldom = /upload|\/pdf_worker-|\/paper_pdf-/;

/** The worker keeps every file of this build; its version is the hash of their names. */
async function serviceWorker() {
  const names = files(out).map((path) => '/' + relative(out, path)).filter((name) => !seldom.test(name));
  const stamp = createHash('sha256');
  for (const path of files(out)) stamp.update(relative(out, path)).update(readFileSync(path));
  await esbuild.build({
    ...common,
    absWorkingDir: here,
    entryPoints: ['src/worker/service_worker.ts'],
    outfile: join(out, 'service_worker.js'),
    format: 'iife',
    define: {
      ...common.define,
      BUILD: JSON.stringify(stamp.digest('hex').slice(0, 12)),
      SHELL: JSON.stringify(names),
    },
  });
}

function compress() {
  for (const path of files(out)) {
    if (/\.(woff2|png)$/.test(path)) continue; // packed already
    const bytes = readFileSync(path);
    writeFileSync(path + '.gz', gzipSync(bytes, { level: 9 }));
    writeFileSync(path + '.br', brotliCompressSync(bytes, {
      params: { [constants.BROTLI_PARAM_QUALITY]: 11, [constants.BROTLI_PARAM_SIZE_HINT]: bytes.length },
    }));
  }
}

const sent = (name) => statSync(join(out, name) + (existsSync(join(out, name + '.br')) ? '.br' : '')).size;

function report(first) {
  const bytes = first.reduce((sum, name) => sum + sent(name), 0);
  const all = files(out).filter((path) => !/\.(gz|br)$/.test(path));
  writeFileSync(join(out, 'first_load.json'), JSON.stringify({ bytes, files: first }, null, 1));
  console.log(`web: ${all.length} files in ${relative(process.cwd(), out) || '.'}; first load ` +
    `${(bytes / 1000).toFixed(1)} kB compressed (page, style, font, ${first.length - 3} scripts)`);
}

/** One C++ source: every file of dist/, compressed forms included, as lintel::embedded::web_files(). */
function embed(target) {
  const literal = (bytes) => {
    let text = '';
    for (let at = 0; at < bytes.length; at += 4096) {
      text += '\n    "';
      for (const byte of bytes.subarray(at, at + 4096)) text += '\\' + byte.toString(8).padStart(3, '0');
      text += '"';
    }
    return text || '""';
  };
  const names = files(out).map((path) => relative(out, path)).filter((name) => name !== 'first_load.json');
  const bytes = names.map((name, i) => {
    const content = readFileSync(join(out, name));
    return `const std::string_view kBytes${i}(${literal(content)}, ${content.length});  // ${name}`;
  });
  const text = `// Written by web/build.mjs; not to be edited.
#include <span>
#include <string_view>

#include "base/embedded_file.h"

namespace lintel::embedded {
namespace {
${bytes.join('\n')}
const EmbeddedFile kFiles[] = {
${names.map((name, i) => `    {"${name}", &kBytes${i}},`).join('\n')}
};
}  // namespace

std::span<const EmbeddedFile> web_files();
std::span<const EmbeddedFile> web_files() { return kFiles; }
}  // namespace lintel::embedded
`;
  if (existsSync(target) && readFileSync(target, 'utf8') === text) return;
  mkdirSync(dirname(target), { recursive: true });
  writeFileSync(target, text);
}

async function once() {
  await build();
  if (option('--embed')) embed(option('--embed'));
}

await once();
if (process.argv.includes('--watch')) {
  const { watch } = await import('node:fs');
  let timer;
  console.log('web: watching src/');
  watch(join(here, 'src'), { recursive: process.platform !== 'linux' }, again);
  for (const folder of readdirSync(join(here, 'src'), { withFileTypes: true })) {
    if (folder.isDirectory()) watch(join(here, 'src', folder.name), again);
  }
  function again() {
    clearTimeout(timer);
    timer = setTimeout(() => once().catch((error) => console.error(error.message)), 200);
  }
}
