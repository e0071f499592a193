/*
 * Mutation testing: small changes to the source, one at a time, each of which some spec must notice. Not part of CI:
 * `npm run mutation -- src/skin-tests` takes minutes, and one folder at a time is enough. Only specs that stand beside
 * the code are asked, because those that start the product would take hours.
 */
export default {
  testRunner: 'jest',
  plugins: ['@stryker-mutator/jest-runner'],
  testRunnerNodeArgs: ['--experimental-vm-modules', '--disable-warning=ExperimentalWarning'],
  jest: { configFile: '.config/stryker-jest.mjs', enableFindRelatedTests: true },
  coverageAnalysis: 'perTest',
  incremental: true,
  incrementalFile: 'var/mutation/incremental.json',
  tempDirName: 'var/mutation/sandbox',
  reporters: ['clear-text', 'html'],
  htmlReporter: { fileName: 'var/mutation/report.html' },
  clearTextReporter: { allowColor: false, logTests: false, reportTests: false },
  ignorePatterns: ['dist', 'var', 'docker', 'docs'],
  // TypeScript 7 has no API to read one with; there is nothing in it to be rewritten.
  tsconfigFile: 'none',
  concurrency: 1,
  timeoutMS: 20_000,
  thresholds: { high: 90, low: 85, break: 85 },
};
