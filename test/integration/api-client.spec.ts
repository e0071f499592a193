import { execFile } from 'node:child_process';
import { copyFile, mkdir, mkdtemp, rm, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { promisify } from 'node:util';
import { expect, it } from '@jest/globals';
import { projectRoot } from '../../src/base/index.js';
import { PASSWORD, startTestApp } from '../factories/app.js';
import { CROP } from '../factories/cuts.js';

const execute = promisify(execFile);

/** Runs a program of ours; throws what it says where it fails. */
async function run(...args: string[]): Promise<void> {
  await execute(process.execPath, args).catch((error: { stdout: string; stderr: string }) => {
    throw new Error(`${error.stdout}${error.stderr}`);
  });
}

const STRICT = [
  '--ignoreConfig',
  '--strict',
  '--skipLibCheck',
  '--module',
  'nodenext',
  '--target',
  'es2023',
  '--lib',
  'es2023,dom',
];

it('a client generated from the description compiles strictly and does the main job', async () => {
  const root = projectRoot();
  const test = await startTestApp('2026-06-01T08:00:00Z');
  await mkdir(join(root, 'var'), { recursive: true });
  // Within the project, so that the generator's runtime is found.
  const folder = await mkdtemp(join(root, 'var', 'api-client-'));
  try {
    const added = await test.ask('desk', 'POST', '/api/v1/clients', { givenName: 'Odile' });
    const clientId = (added.body['client'] as { id: string }).id;
    const visit = { clientId, staffId: test.mara.id, serviceId: test.fullCut.id, formula: CROP };
    expect((await test.ask('stylist', 'POST', '/api/v1/visits', visit)).status).toBe(201);

    const description = await test.app.inject('/api/docs-json');
    await writeFile(join(folder, 'api.json'), description.body);
    await writeFile(join(folder, 'package.json'), '{"type":"module"}');
    await copyFile(join(root, 'test/client/main-job.txt'), join(folder, 'main-job.ts'));
    await run(
      join(root, 'node_modules/oazapfts/dist/cli.js'),
      join(folder, 'api.json'),
      join(folder, 'client.ts'),
    );
    await run(join(root, 'node_modules/typescript/bin/tsc'), ...STRICT, join(folder, 'main-job.ts'));

    await test.app.listen(0, '127.0.0.1');
    const { mainJob } = await import(pathToFileURL(join(folder, 'main-job.js')).href);
    const done = await mainJob(await test.app.getUrl(), 'stylist@wren-tallow.example.org', PASSWORD, 'Odile');
    expect(done).toMatchObject({ clientId, againId: done.appointmentId, startsAt: done.wantedAt, late: 412 });
    expect(done.zones).toContain('nape');
    test.clock.at = done.startsAt;
    const { visit: closed, suggestion } = await done.finish({ formula: CROP });
    expect(closed).toMatchObject({ clientId });
    expect(suggestion.window.dueOn > closed.visitOn).toBe(true);
  } finally {
    await test.close();
    await rm(folder, { recursive: true });
  }
}, 120_000);
