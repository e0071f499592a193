import type { Command } from 'commander';
import { MIGRATIONS } from '../../../migrations/index.js';
import { plantDemo } from '../../../seed/index.js';
import { SystemClock } from '../../base/index.js';
import { demoSettings } from '../../demo.js';
import { type Settings, UnitOfWork } from '../../store/index.js';
import { executedMigrations, withSources } from '../open.js';
import { acts, type CommonOptions, environment, shows, type Told } from '../told.js';

async function pending(settings: Settings): Promise<string[]> {
  const done = await executedMigrations(settings);
  return MIGRATIONS.map(({ name }) => name).filter((name) => !done.includes(name));
}

export function addMigrate(program: Command): void {
  const migrate = program
    .command('migrate')
    .summary('bring the database up to date')
    .description(
      'Makes the database where there is none and brings its schema up to date. Each migration is done whole or not at ' +
        'all; a run that was cut short is run again.',
    )
    .option('--status', 'only say what would be done');
  acts(migrate, async (settings, { status }: { status?: boolean }): Promise<Told> => {
    const names = await pending(settings);
    const none = 'The schema is up to date.';
    if (status) {
      const lines = names.length === 0 ? [none] : names.map((name) => `To be done: ${name}`);
      return { lines, data: { pending: names } };
    }
    await withSources(settings, async () => undefined);
    const lines = names.length === 0 ? [none] : names.map((name) => `Done: ${name}`);
    return { lines, data: { migrated: names } };
  });
  shows(migrate, 'halfinch migrate --status', 'halfinch migrate --data /srv/halfinch');

  const seed = program
    .command('seed')
    .summary('plant the demo salon in an empty database')
    .description(
      'Plants the demo salon in an empty database, for trying things out: its sign-ins are printed and known to ' +
        'everybody. Refuses with NODE_ENV=production and where a salon is already.',
    )
    .option('--clients <number>', 'how many clients it has', '300');
  acts(seed, async (settings, options: CommonOptions & { clients: string }): Promise<Told> => {
    demoSettings(environment(options));
    return await withSources(settings, async ({ writer }) => {
      const planted = await plantDemo({
        units: new UnitOfWork(writer),
        now: new SystemClock().now(),
        clients: Number(options.clients),
      });
      const lines = planted.signIns.map(({ role, email, password }) => `${role}: ${email}  ${password}`);
      if (!planted.planted) lines.unshift('The demo is there already; nothing was written.');
      return { lines, data: { planted: planted.planted, signIns: planted.signIns } };
    });
  });
  shows(seed, 'halfinch seed --data var/trial --clients 50');
}
