import { existsSync } from 'node:fs';
import { readFile } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import { transform } from '@swc/core';
import { SWC } from './swc.mjs';

const GLOBALS = new URL('./spec-globals.mjs', import.meta.url).href;

/** './x.js' is x.ts where that is what there is, as TypeScript has it. */
export async function resolve(specifier, context, next) {
  if (specifier === '@jest/globals') return { url: GLOBALS, shortCircuit: true };
  if (/^\.{1,2}\/.*\.js$/.test(specifier) && context.parentURL?.includes('.ts')) {
    const url = new URL(specifier.replace(/\.js$/, '.ts'), context.parentURL);
    if (existsSync(fileURLToPath(url))) return { url: url.href, format: 'module', shortCircuit: true };
  }
  return next(specifier, context);
}

export async function load(url, context, next) {
  const { pathname } = new URL(url);
  if (!pathname.endsWith('.ts')) return next(url, context);
  const filename = fileURLToPath(url);
  const { code } = await transform(await readFile(filename, 'utf8'), { ...SWC, filename });
  return { format: 'module', source: code, shortCircuit: true };
}
