import type { Command } from 'commander';
import { type CommonOptions, environment, shows } from '../told.js';

type ServeOptions = CommonOptions & { readonly host?: string; readonly port?: string };

/** What the entry points read is the environment: the command line is put into it. */
function intoEnvironment(options: ServeOptions): void {
  Object.assign(process.env, environment(options), {
    ...(options.host !== undefined && { HOST: options.host }),
    ...(options.port !== undefined && { PORT: options.port }),
  });
}

export function addRun(program: Command): void {
  const serve = program
    .command('serve')
    .summary('run the web server')
    .description(
      'Runs the web server (migrating first), which also sends messages unless REDIS_URL is set. SIGTERM or SIGINT ' +
        'stops it once what it has in hand is done.',
    )
    .option('--host <address>', 'where to listen (else HOST, else 127.0.0.1)')
    .option('--port <number>', 'port to listen on (else PORT, else 4180)')
    .action(async (_options: ServeOptions, command: Command) => {
      intoEnvironment(command.optsWithGlobals<ServeOptions>());
      await import('../../main.js');
    });
  shows(serve, 'halfinch serve --data /srv/halfinch --port 4180');
  const worker = program
    .command('worker')
    .summary('run a process that sends messages')
    .description(
      'Runs a process that sends messages: from Redis where REDIS_URL is set, of which there may be any number, else ' +
        'from the database.',
    )
    .action(async (_options: CommonOptions, command: Command) => {
      intoEnvironment(command.optsWithGlobals<CommonOptions>());
      await import('../../worker.js');
    });
  shows(worker, 'REDIS_URL=redis://127.0.0.1:6379 halfinch worker --data /srv/halfinch');
}
