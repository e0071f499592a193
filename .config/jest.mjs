import { fileURLToPath } from 'node:url';

const rootDir = fileURLToPath(new URL('..', import.meta.url));

const project = {
  rootDir,
  testEnvironment: 'node',
  // Node itself loads the specs and what they test, once a worker.
  testRunner: '<rootDir>/.config/spec-runner.mjs',
  transform: {},
  roots: ['<rootDir>/src', '<rootDir>/test', '<rootDir>/seed'],
  testTimeout: 60_000,
};

// Everything that touches the database, once more on PostgreSQL.
const postgres = {
  ...project,
  globals: { TEST_STORE: 'postgres' },
  displayName: 'postgres',
  testMatch: ['<rootDir>/test/{integration,security,group}/**/*.spec.ts'],
  globalSetup: '<rootDir>/.config/test-run-postgres.mjs',
  globalTeardown: '<rootDir>/.config/test-run-end.mjs',
};

const PROJECTS = {
  sqlite: {
    ...project,
    globals: { TEST_STORE: 'sqlite' },
    displayName: 'sqlite',
    testMatch: ['**/*.spec.ts'],
    // What several processes do on PostgreSQL is tested in the other project.
    testPathIgnorePatterns: ['/node_modules/', '<rootDir>/test/group/'],
    globalSetup: '<rootDir>/.config/test-run.mjs',
    globalTeardown: '<rootDir>/.config/test-run-end.mjs',
  },
  postgres,
};

/** TEST_STORES names what to test on; one alone is quicker while working. */
const stores = (process.env.TEST_STORES ?? 'sqlite').split(',');

export default {
  rootDir,
  maxWorkers: 2,
  testSequencer: '<rootDir>/.config/spec-order.mjs',
  testTimeout: 60_000,
  // A fat worker would soon do little but collect garbage.
  workerIdleMemoryLimit: '1GB',
  projects: stores.map((name) => PROJECTS[name]),
};
