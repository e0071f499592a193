import { spawnSync } from 'node:child_process';

/** `npm run mutation -- src/skin-tests src/engine/stats`: folders or files of the source, specs left out. */
const asked = process.argv.slice(2);
if (asked.length === 0 || asked.some((path) => !path.startsWith('src/'))) {
  console.error('Name what is to be mutated, one folder at a time: npm run mutation -- src/skin-tests');
  process.exit(2);
}
const mutate = asked
  .flatMap((path) => (path.endsWith('.ts') ? [path] : [`${path}/**/*.ts`]))
  .concat(['*.spec', 'index', 'entities', 'dto', '*.module'].map((name) => `!src/**/${name}.ts`));
const { status } = spawnSync('npx', ['stryker', 'run', '.config/stryker.mjs', '--mutate', mutate.join(',')], {
  stdio: 'inherit',
});
process.exit(status ?? 1);
