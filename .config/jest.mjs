import { fileURLToPath } from 'node:url';

const rootDir = fileURLToPath(new URL('..', import.meta.url));

export const project = {
  rootDir,
  testEnvironment: 'node',
  roots: ['<rootDir>/src', '<rootDir>/test', '<rootDir>/seed'],
  extensionsToTreatAsEsm: ['.ts'],
  moduleNameMapper: {
    '^(\\.{1,2}/.*)\\.js$': '$1',
    '^libphonenumber-js$': '<rootDir>/node_modules/libphonenumber-js/index.cjs',
  },
  transform: {
    '^.+\\.ts$': [
      '@swc/jest',
      {
        swcrc: false,
        jsc: {
          target: 'es2022',
          parser: { syntax: 'typescript', decorators: true },
          transform: { legacyDecorator: true, decoratorMetadata: true, useDefineForClassFields: false },
          keepClassNames: true,
        },
        module: { type: 'es6' },
        sourceMaps: 'inline',
      },
    ],
  },
  testTimeout: 30_000,
};

const PROJECTS = {
  sqlite: {
    ...project,
    displayName: 'sqlite',
    testMatch: ['**/*.spec.ts'],
    // What several processes do on PostgreSQL is tested in the other project.
    testPathIgnorePatterns: ['/node_modules/', '<rootDir>/test/group/'],
    globalSetup: '<rootDir>/.config/test-run.mjs',
    globalTeardown: '<rootDir>/.config/test-run-end.mjs',
  },
  // Everything that touches the database, once more on PostgreSQL.
  postgres: {
    ...project,
    displayName: 'postgres',
    testMatch: ['<rootDir>/test/{integration,security,group}/**/*.spec.ts'],
    setupFiles: ['<rootDir>/.config/test-on-postgres.mjs'],
    globalSetup: '<rootDir>/.config/test-run-postgres.mjs',
    globalTeardown: '<rootDir>/.config/test-run-end.mjs',
  },
};

/** TEST_STORES names the databases to test on; one alone is quicker while working. */
const stores = (process.env.TEST_STORES ?? 'sqlite').split(',');

export default {
  rootDir,
  maxWorkers: 2,
  testTimeout: 30_000,
  // A finished spec's modules stay in its worker: a fat worker would soon do little but collect garbage.
  workerIdleMemoryLimit: '1GB',
  projects: stores.map((name) => PROJECTS[name]),
};
