import 'reflect-metadata';
import { realpathSync } from 'node:fs';
import { relative, resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import type { NestFastifyApplication } from '@nestjs/platform-fastify';
import { DEMO_ZONE, type Planted, plantDemo } from '../seed/index.js';
import { serveApiDescription } from './api/index.js';
import { AppModule } from './app.module.js';
import { Clock, timeIn } from './base/index.js';
import { createServer } from './http/index.js';
import { readSettings, type Settings, UnitOfWork } from './store/index.js';

const DEMO_DATA = 'var/demo';

/** Why the demo does not start, in words for whoever started it. */
export class DemoRefused extends Error {
  override readonly name = 'DemoRefused';
}

/** Settings of the demo: its own data folder unless HALFINCH_DATA names one. Throws DemoRefused in production. */
export function demoSettings(env: NodeJS.ProcessEnv): Settings {
  if (env['NODE_ENV'] === 'production') {
    throw new DemoRefused(
      'The demo does not start with NODE_ENV=production: its sign-ins are printed for everybody to read. ' +
        'Unset NODE_ENV to try the demo, or use "npm start" for the real thing.',
    );
  }
  return readSettings({ ...env, HALFINCH_DATA: env['HALFINCH_DATA'] || DEMO_DATA });
}

/** Brings the database up to date, plants the demo where there is no salon, serves it and tells how to get in. */
export async function startDemo(
  env: NodeJS.ProcessEnv,
  print: (text: string) => void,
  clients?: number,
): Promise<{ app: NestFastifyApplication; planted: Planted }> {
  const settings = demoSettings(env);
  const app = await createServer(AppModule.with(settings), settings);
  try {
    const planted = await plantDemo({
      units: app.get(UnitOfWork),
      now: app.get(Clock).now(),
      ...(clients !== undefined && { clients }),
    });
    serveApiDescription(app);
    await app.listen(settings.port, settings.host);
    const address = settings.port === 0 ? await app.getUrl() : settings.publicUrl;
    print(greeting(planted, address, settings.dataDir));
    return { app, planted };
  } catch (error) {
    await app.close();
    throw error;
  }
}

function greeting({ signIns, planted, stories }: Planted, address: string, dataDir: string): string {
  const width = Math.max(...signIns.map(({ email }) => email.length));
  const folder = relative(resolve(), dataDir) || dataDir;
  const lines = [
    '',
    `Halfinch answers at ${address}`,
    '',
    'Sign in as',
    ...signIns.map(
      ({ role, name, email, password }) =>
        `  ${role.padEnd(8)}${email.padEnd(width + 2)}${password}  (${name})`,
    ),
    '',
  ];
  if (stories.length > 0) {
    lines.push(
      `On today's page of ${signIns[0]?.name}:`,
      ...stories.map(({ today, name, about }) => `  ${timeIn(DEMO_ZONE, today.startsAt)}  ${name}: ${about}`),
      '',
    );
  }
  if (!planted) {
    lines.push(`The demo of an earlier start is still in ${folder}; remove that folder to begin afresh.`, '');
  }
  return `${lines.join('\n')}\n`;
}

if (process.argv[1] !== undefined && import.meta.url === pathToFileURL(realpathSync(process.argv[1])).href) {
  try {
    await startDemo(process.env, (text) => process.stdout.write(text));
  } catch (error) {
    console.error(error instanceof Error ? error.message : error);
    process.exitCode = 1;
  }
}
