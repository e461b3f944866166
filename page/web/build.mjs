// SPDX-License-Identifier: GPL-3.0-or-later
// Builds the page: src/main.ts into dist/assets, with .gz beside each file. `--check` also stops at a bundle over 200 kB,
// `--out FOLDER` builds there instead.
import { build } from 'esbuild';
import { cp, mkdir, readFile, rm, writeFile } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { gzipSync } from 'node:zlib';

const here = dirname(fileURLToPath(import.meta.url));
const named = process.argv.indexOf('--out');
const out = named > 0 ? process.argv[named + 1] : join(here, 'dist');
await rm(join(out, 'assets'), { recursive: true, force: true }); // the folder itself stays: a running server holds it open
await mkdir(join(out, 'assets'), { recursive: true });
await build({
  entryPoints: [join(here, 'src/main.ts')], outfile: join(out, 'assets/main.js'), bundle: true, minify: true, format: 'esm',
  target: ['es2022', 'chrome110', 'firefox110', 'safari16'], legalComments: 'inline', logLevel: 'warning',
});
await cp(join(here, 'index.html'), join(out, 'index.html'));
await cp(join(here, 'icon.svg'), join(out, 'assets/icon.svg'));
let total = 0;
for (const name of ['index.html', 'assets/main.js', 'assets/main.css', 'assets/icon.svg']) {
  const packed = gzipSync(await readFile(join(out, name)), { level: 9 });
  await writeFile(join(out, `${name}.gz`), packed);
  total += packed.length;
}
console.log(`page: ${(total / 1000).toFixed(1)} kB compressed`);
if (process.argv.includes('--check') && total > 200000) {
  console.error('page: over 200 kB');
  process.exit(1);
}
