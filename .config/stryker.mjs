/*
 * Mutation testing: small changes to the source, one at a time, each of which some spec must notice. Not part of CI.
 * Only specs that stand beside the code are asked (mutation-runner.mjs), because those that start the product would
 * take hours.
 */
export default {
  testRunner: 'specs-in-process',
  plugins: [new URL('mutation-runner.mjs', import.meta.url).href],
  coverageAnalysis: 'perTest',
  incremental: true,
  incrementalFile: 'var/mutation/incremental.json',
  tempDirName: 'var/mutation/sandbox',
  reporters: ['clear-text', 'progress-append-only', 'html', 'json'],
  htmlReporter: { fileName: 'var/mutation/report.html' },
  jsonReporter: { fileName: 'var/mutation/report.json' },
  clearTextReporter: { allowColor: false, logTests: false, reportTests: false },
  ignorePatterns: ['dist', 'var', 'docker', 'docs'],
  // TypeScript 7 has no API to read one with; there is nothing in it to be rewritten.
  tsconfigFile: 'none',
  // What is worked out when a module is loaded would have to be tried with every spec.
  ignoreStatic: true,
  concurrency: 1,
  // Of the time that all checks take together, of which a change gets a little (see the runner).
  timeoutFactor: 0.02,
  timeoutMS: 3_000,
  thresholds: { high: 90, low: 85, break: 85 },
};
