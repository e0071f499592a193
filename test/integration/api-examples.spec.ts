import { expect, it } from '@jest/globals';
import { EXAMPLE_IDS } from '../../src/api/examples.js';
import { startTestApp } from '../factories/app.js';

type Operation = { requestBody?: { content?: Record<string, { example?: object }> } };

it('every example in the description can be sent as it stands', async () => {
  const test = await startTestApp('2026-06-01T08:00:00Z');
  try {
    const description = (await test.app.inject('/api/docs-json')).json() as {
      paths: Record<string, Record<string, Operation>>;
    };
    const client = async () => {
      const { body } = await test.ask('desk', 'POST', '/api/v1/clients', {
        givenName: 'Odile',
        birthday: '1984-05-27',
      });
      return (body as unknown as { client: { id: string } }).client.id;
    };
    const sitting = { clientId: await client(), staffId: test.mara.id, serviceId: test.fullCut.id };
    /** What the id in an address names: a fresh one each time, so that no example stands in the way of another. */
    const named: Readonly<Record<string, () => Promise<string>>> = {
      clients: client,
      staff: async () => test.mara.id,
      appointments: async () => {
        const wish = { ...sitting, date: '2026-06-16', time: '10:00' };
        const { body } = await test.ask('desk', 'POST', '/api/v1/appointments', wish);
        return (body as unknown as { appointment: { id: string } }).appointment.id;
      },
    };
    const mine = (text: string) =>
      text
        .replaceAll(EXAMPLE_IDS.client, sitting.clientId)
        .replaceAll(EXAMPLE_IDS.staff, sitting.staffId)
        .replaceAll(EXAMPLE_IDS.service, sitting.serviceId);
    const refused: string[] = [];
    let sent = 0;
    for (const [path, operations] of Object.entries(description.paths)) {
      for (const [method, { requestBody }] of Object.entries(operations)) {
        const example = requestBody?.content?.['application/json']?.example;
        if (!example) continue;
        sent += 1;
        const kind = /^\/api\/v1\/([a-z-]+)\/\{id\}/.exec(path)?.[1];
        const id = kind === undefined ? '' : await named[kind]?.();
        // `ask` holds each answer against the description.
        const answer = await test.ask(
          'owner',
          method.toUpperCase(),
          path.replace('{id}', `${id}`),
          JSON.parse(mine(JSON.stringify(example))),
        );
        if (answer.status >= 300) refused.push(`${method} ${path}: ${JSON.stringify(answer.body)}`);
      }
    }
    expect(refused).toEqual([]);
    expect(sent).toBeGreaterThanOrEqual(17);
  } finally {
    await test.close();
  }
}, 60_000);
