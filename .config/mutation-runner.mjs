import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import { Script } from 'node:vm';
import { transformSync } from '@swc/core';
import { build } from 'esbuild';
import { expect } from 'expect';
import { SWC } from './swc.mjs';

/*
 * Runs the specs beside the code for Stryker inside one process: Jest takes some ten seconds to begin anew for every
 * mutant, this takes milliseconds. Each spec is bundled once with the instrumented code it imports, and evaluated anew
 * for every mutant, so that neither constants nor what a module remembers carry over from the mutant before.
 */

const require = createRequire(import.meta.url);
// A score must not hang on the cases that a run happens to draw. Required, as the bundles do: an import is another copy.
require('fast-check').configureGlobal({ seed: 1 });
const BUNDLES = 'mutation-bundles';
const SPECS = `${BUNDLES}/specs.json`;

const jestGlobals = {
  name: 'jest-globals',
  setup({ onResolve, onLoad }) {
    onResolve({ filter: /^@jest\/globals$/ }, () => ({ path: 'globals', namespace: 'mutation' }));
    onLoad({ filter: /.*/, namespace: 'mutation' }, () => ({
      contents: 'export const { describe, it, expect } = globalThis.__specGlobals;',
    }));
    onResolve({ filter: /^\.{1,2}\/.*\.js$/ }, ({ path, resolveDir }) => {
      const file = resolve(resolveDir, path.replace(/\.js$/, '.ts'));
      return existsSync(file) ? { path: file } : undefined;
    });
    // Decorators need the types that only this compiler leaves beside them.
    onLoad({ filter: /\.ts$/ }, ({ path }) => ({
      contents: transformSync(readFileSync(path, 'utf8'), {
        ...SWC,
        filename: path,
        sourceMaps: false,
      }).code,
      loader: 'js',
    }));
  },
};

/**
 * So many milliseconds of checks are asked for one change, the quick ones and those of its own folder first: a survivor
 * would else cost all that ever come by. So a score says what is noticed within this time, and is a lower bound.
 */
const BUDGET_MS = 2_500;

/** Which specs are asked at all, where not every spec of the room is: a part of their paths. */
const ONLY = new RegExp(process.env.MUTATION_SPECS ?? '');

/** The room that a file belongs to. */
function roomOf(file) {
  return file.replaceAll('\\', '/').match(/src\/[^/]+/)?.[0];
}

async function bundled(spec) {
  const outfile = `${BUNDLES}/${spec.replaceAll('/', '_')}.cjs`;
  const { metafile } = await build({
    absWorkingDir: process.cwd(),
    entryPoints: [spec],
    outfile,
    bundle: true,
    format: 'cjs',
    platform: 'node',
    packages: 'external',
    // There is none in this format; whoever asks wants a file inside the project.
    define: { 'import.meta.url': JSON.stringify(pathToFileURL(resolve(spec)).href) },
    plugins: [jestGlobals],
    metafile: true,
    logLevel: 'silent',
  });
  return { spec, outfile, inputs: Object.keys(metafile.inputs) };
}

/** Evaluates a spec and gives its tests, in the order in which they stand. */
function testsOf(script, spec) {
  const tests = [];
  const path = [];
  const stryker = strykerState();
  const describe = (name, body) => {
    const outside = stryker.currentTestId;
    path.push(name);
    stryker.currentTestId = setupOf(spec);
    body();
    stryker.currentTestId = outside;
    path.pop();
  };
  const it = (name, run) => {
    const full = [...path, name].join(' ');
    tests.push({ id: `${spec}#${tests.length} ${full}`, name: full, run });
  };
  const each = (add) => (rows) => (name, run) => {
    for (const [index, row] of rows.entries()) {
      const values = Array.isArray(row) ? row : [row];
      add(`${name} (${index})`, () => run(...values));
    }
  };
  it.each = each(it);
  describe.each = each(describe);
  globalThis.__specGlobals = { describe, it, expect };
  const module = { exports: {} };
  script.runInThisContext()(require, module, module.exports);
  return tests;
}

/** Stands for what the bodies of a spec's describes do: each of its tests may look at what comes of it. */
function setupOf(spec) {
  return `${spec}#setup`;
}

function shareSetup(coverage, spec, tests) {
  const setup = coverage?.perTest[setupOf(spec)];
  if (!setup) return;
  delete coverage.perTest[setupOf(spec)];
  for (const { id } of tests) {
    coverage.perTest[id] ??= {};
    const own = coverage.perTest[id];
    for (const [mutant, hits] of Object.entries(setup)) own[mutant] = (own[mutant] ?? 0) + hits;
  }
}

/** Where the instrumented code looks which mutant is active. */
function strykerState() {
  globalThis.__stryker__ ??= {};
  return globalThis.__stryker__;
}

class SpecsInProcess {
  scripts = new Map();

  capabilities() {
    return { reloadEnvironment: true };
  }

  async dryRun({ files = [] }) {
    const rooms = new Set(files.map(roomOf));
    mkdirSync(BUNDLES, { recursive: true });
    const all = readdirSync('src', { recursive: true })
      .map((name) => `src/${name}`)
      .filter((file) => file.endsWith('.spec.ts') && rooms.has(roomOf(file)) && ONLY.test(file));
    const mutated = files.map((file) => resolve(file));
    const specs = (await Promise.all(all.map(bundled))).filter(({ inputs }) =>
      inputs.some((input) => mutated.includes(resolve(input))),
    );
    const stryker = strykerState();
    const results = [];
    for (const { spec, outfile } of specs) {
      stryker.currentTestId = undefined;
      const tests = testsOf(this.script(spec, outfile), spec);
      for (const test of tests) {
        stryker.currentTestId = test.id;
        results.push({ ...(await this.result(test)), fileName: spec });
      }
      shareSetup(stryker.mutantCoverage, spec, tests);
    }
    const timesMs = Object.fromEntries(results.map(({ id, timeSpentMs }) => [id, timeSpentMs]));
    writeFileSync(SPECS, JSON.stringify({ specs, timesMs }));
    return { status: 'complete', tests: results, mutantCoverage: stryker.mutantCoverage };
  }

  async mutantRun({ activeMutant, testFilter, sandboxFileName, hitLimit }) {
    const { specs, timesMs } = JSON.parse(readFileSync(SPECS, 'utf8'));
    const related = specs.filter(({ inputs }) =>
      inputs.some((input) => resolve(input) === resolve(sandboxFileName)),
    );
    const stryker = strykerState();
    Object.assign(stryker, { activeMutant: activeMutant.id, hitCount: hitLimit && 0, hitLimit });
    const loaded = new Map();
    const isNear = (id) => dirname(resolve(id.split('#')[0])) === dirname(resolve(sandboxFileName));
    const covering = Object.keys(timesMs)
      .filter((id) =>
        testFilter ? testFilter.includes(id) : related.some(({ spec }) => id.startsWith(`${spec}#`)),
      )
      .sort((a, b) => Number(isNear(b)) - Number(isNear(a)) || timesMs[a] - timesMs[b]);
    let leftMs = BUDGET_MS;
    const asked = covering.filter((id) => {
      leftMs -= timesMs[id];
      return leftMs > 0;
    });
    let nrOfTests = 0;
    for (const id of asked) {
      const { spec, outfile } = specs.find((one) => id.startsWith(`${one.spec}#`));
      const killed = (failureMessage) =>
        hitLimit && stryker.hitCount > hitLimit
          ? { status: 'timeout', reason: `Hit limit reached (${stryker.hitCount}/${hitLimit})` }
          : { status: 'killed', killedBy: [id], failureMessage, nrOfTests };
      nrOfTests += 1;
      try {
        if (!loaded.has(spec)) loaded.set(spec, testsOf(this.script(spec, outfile), spec));
      } catch (error) {
        return killed(String(error));
      }
      const test = loaded.get(spec).find((one) => one.id === id);
      const result = test ? await this.result(test) : { status: 1, failureMessage: 'The test is gone.' };
      if (result.status === 1) return killed(result.failureMessage);
    }
    return { status: 'survived', nrOfTests };
  }

  script(spec, outfile) {
    let script = this.scripts.get(spec);
    if (!script) {
      const code = `(function (require, module, exports) {${readFileSync(outfile, 'utf8')}\n})`;
      script = new Script(code, { filename: outfile });
      this.scripts.set(spec, script);
    }
    return script;
  }

  async result({ id, name, run }) {
    const startedAt = performance.now();
    let failureMessage;
    try {
      await run();
    } catch (error) {
      failureMessage = error instanceof Error ? error.message : String(error);
    }
    const timeSpentMs = performance.now() - startedAt;
    return failureMessage === undefined
      ? { id, name, timeSpentMs, status: 0 }
      : { id, name, timeSpentMs, status: 1, failureMessage };
  }
}

export const strykerPlugins = [
  { kind: 'TestRunner', name: 'specs-in-process', factory: () => new SpecsInProcess() },
];
