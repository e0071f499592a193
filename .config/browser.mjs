// Bundles the browser scripts and copies what the server reads at run time beside the compiled code.
import { existsSync, readdirSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from 'esbuild';

const root = join(dirname(fileURLToPath(import.meta.url)), '..');
const folder = join(root, 'src/web/browser');
const entryPoints = existsSync(folder)
  ? readdirSync(folder)
      .filter((name) => name.endsWith('.ts'))
      .map((name) => join(folder, name))
  : [];
if (entryPoints.length > 0) {
  await build({
    entryPoints,
    outdir: join(root, 'dist/assets'),
    bundle: true,
    minify: true,
    format: 'esm',
    target: 'es2022',
    logLevel: 'warning',
  });
}
