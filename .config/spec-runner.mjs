import asyncHooks from 'node:async_hooks';
import { createRequire, register } from 'node:module';
import { pathToFileURL } from 'node:url';
import fc from 'fast-check';

/** Where jest-circus looks for what `jest.setTimeout` says. */
const TIMEOUT = Symbol.for('TEST_TIMEOUT_SYMBOL');
const require = createRequire(import.meta.url);
const circusFolder = require.resolve('jest-circus/package.json').replace('package.json', 'build/');
const circusRequire = createRequire(circusFolder);
const { jestExpect: expect } = circusRequire('@jest/expect');
const { ModuleMocker } = circusRequire('jest-mock');
const mocker = new ModuleMocker(globalThis);
const jest = {
  fn: mocker.fn.bind(mocker),
  spyOn: mocker.spyOn.bind(mocker),
  setTimeout: (ms) => {
    globalThis[TIMEOUT] = ms;
  },
};

// The same cases each time, so that a red run means a change; PROPERTY_SEED=random (or a number) looks at other cases.
const { PROPERTY_SEED = '1' } = process.env;
if (PROPERTY_SEED !== 'random') fc.configureGlobal({ seed: Number(PROPERTY_SEED) });
register('./spec-loader.mjs', import.meta.url);
process.setSourceMapsEnabled(true);
let files = 0;

/**
 * Jest's own runner (jest-circus), but specs and what they import are loaded by Node itself rather than into a context
 * of their own, so that the modules of one spec serve the next one in the same process: loading them anew took longer
 * than most specs. Specs must leave nothing behind in a module; the environment is put back after each.
 */
export default async function runSpec(
  globalConfig,
  config,
  environment,
  runtime,
  testPath,
  sendMessageToJest,
) {
  const initializer = `${circusFolder}jestAdapterInit.js`;
  delete require.cache[initializer];
  // Jest maps lines by what its own loader has read; Node maps them by itself.
  Error.prepareStackTrace = undefined;
  const { storages, loaded } = withStorages(() => require(initializer));
  const { initialize, runAndTransformResultsToJestFormat } = loaded;
  const environmentBefore = { ...process.env };
  process.env.TEST_STORE = config.globals.TEST_STORE;
  const { globals } = await initialize({
    config,
    environment,
    globalConfig,
    localRequire: require,
    parentProcess: process,
    runtime,
    sendMessageToJest,
    setGlobalsForRuntime: () => undefined,
    testPath,
  });
  globalThis[Symbol.for('halfinch.specs')] = { ...globals, expect, jest };
  try {
    const start = Date.now();
    files += 1;
    await import(`${pathToFileURL(testPath)}?${files}`);
    return await runAndTransformResultsToJestFormat({
      config,
      globalConfig,
      setupAfterEnvPerfStats: { setupAfterEnvStart: start, setupAfterEnvEnd: start },
      testPath,
    });
  } finally {
    for (const storage of storages) storage.disable();
    mocker.restoreAllMocks();
    delete globalThis[TIMEOUT];
    for (const name of Object.keys(process.env)) if (!(name in environmentBefore)) delete process.env[name];
    Object.assign(process.env, environmentBefore);
  }
}

/**
 * What `load` returns and the storages it makes for itself. Node carries each one along with every promise until it is
 * disabled, and jest-circus makes one for every spec: a fourth of a long run went into that.
 */
function withStorages(load) {
  const { AsyncLocalStorage } = asyncHooks;
  const storages = [];
  asyncHooks.AsyncLocalStorage = class extends AsyncLocalStorage {
    constructor(...args) {
      super(...args);
      storages.push(this);
    }
  };
  try {
    return { loaded: load(), storages };
  } finally {
    asyncHooks.AsyncLocalStorage = AsyncLocalStorage;
  }
}
