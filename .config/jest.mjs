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

// Everything that touches the database, once more on PostgreSQL.
const postgres = {
  ...project,
  displayName: 'postgres',
  testMatch: ['<rootDir>/test/{integration,security,group}/**/*.spec.ts'],
  setupFiles: ['<rootDir>/.config/test-on-postgres.mjs'],
  globalSetup: '<rootDir>/.config/test-run-postgres.mjs',
  globalTeardown: '<rootDir>/.config/test-run-end.mjs',
};

/** Where the databases differ most: schema, units of work, who may hold what, several processes. */
const CORE = [
  'book/{book,migration,rivals,sequences,steps}',
  'rebooking/series',
  '{audit,export,links,query-plans,reminders-dispatch,reminders-drivers,schema,store,waiting}',
];

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
  postgres,
  'postgres-core': {
    ...postgres,
    testMatch: [
      '<rootDir>/test/group/*.spec.ts',
      ...CORE.map((names) => `<rootDir>/test/integration/${names}.spec.ts`),
    ],
  },
};

/** TEST_STORES names what to test on; one alone is quicker while working. */
const stores = (process.env.TEST_STORES ?? 'sqlite').split(',');

export default {
  rootDir,
  maxWorkers: 2,
  testTimeout: 30_000,
  // A finished spec's modules stay in its worker: a fat worker would soon do little but collect garbage.
  workerIdleMemoryLimit: '1GB',
  projects: stores.map((name) => PROJECTS[name]),
};
