import { existsSync } from 'node:fs';
import { cp, mkdir, mkdtemp, readdir, readFile, rename, rm, symlink, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { transform } from '@swc/core';
import { build } from 'esbuild';
import { projectRoot } from '../../src/base/index.js';

const OPTIONS = {
  swcrc: false,
  configFile: false,
  module: { type: 'es6' },
  sourceMaps: 'inline',
  jsc: {
    target: 'es2022',
    parser: { syntax: 'typescript', decorators: true },
    transform: { legacyDecorator: true, decoratorMetadata: true, useDefineForClassFields: false },
    keepClassNames: true,
  },
} as const;

async function sources(root: string): Promise<string[]> {
  const folders = ['src', 'seed', 'migrations', 'test/browser'];
  const lists = await Promise.all(
    folders.map(async (folder) =>
      (await readdir(join(root, folder), { recursive: true })).map((name) => join(folder, name)),
    ),
  );
  return lists
    .flat()
    .filter((name) => name.endsWith('.ts') && !/\.spec\.ts$|\.d\.ts$|src\/web\/browser\//.test(name));
}

/**
 * The product as plain JavaScript in a folder that a whole test run shares. Planting the demo inside Jest's own module
 * realm takes minutes; a process of its own takes seconds and is nearer to what people run.
 */
export async function compiledProduct(): Promise<string> {
  const folder = join(process.env['HALFINCH_TEST_RUN'] ?? '', 'product');
  if (existsSync(folder)) return folder;
  const made = await compile(projectRoot());
  try {
    // Whole or not at all; where another worker was first, its is as good.
    await rename(made, folder);
  } catch {
    await rm(made, { recursive: true });
  }
  return folder;
}

async function compile(root: string): Promise<string> {
  const folder = await mkdtemp(join(tmpdir(), 'halfinch-compiled-'));
  for (const name of await sources(root)) {
    const { code } = await transform(await readFile(join(root, name), 'utf8'), {
      ...OPTIONS,
      filename: name,
    });
    const target = join(folder, name.replace(/\.ts$/, '.js'));
    await mkdir(dirname(target), { recursive: true });
    await writeFile(target, code);
  }
  await cp(join(root, 'package.json'), join(folder, 'package.json'));
  await symlink(join(root, 'templates'), join(folder, 'templates'));
  await symlink(join(root, 'node_modules'), join(folder, 'node_modules'));
  const scripts = join(root, 'src/web/browser');
  await build({
    entryPoints: (await readdir(scripts)).map((name) => join(scripts, name)),
    outdir: join(folder, 'dist/assets'),
    bundle: true,
    format: 'esm',
    target: 'es2022',
    logLevel: 'warning',
  });
  return folder;
}
