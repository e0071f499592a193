import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals';
import { Client } from '../../src/clients/index.js';
import { ImportRun } from '../../src/exchange/index.js';
import { startTestApp, type TestApp } from '../factories/app.js';
import { Jar, openSession } from '../factories/security.js';

jest.setTimeout(120_000);

const BOUNDARY = 'half-an-inch';

/** A form with fields and then a file, as a browser sends it (RFC 7578). */
function form(fields: Record<string, string>, file?: { name: string; text: string }): string {
  const parts = Object.entries(fields).map(
    ([name, value]) => `--${BOUNDARY}\r\ncontent-disposition: form-data; name="${name}"\r\n\r\n${value}\r\n`,
  );
  if (file) {
    parts.push(
      `--${BOUNDARY}\r\ncontent-disposition: form-data; name="file"; filename="${file.name}"\r\ncontent-type: text/csv\r\n\r\n${file.text}\r\n`,
    );
  }
  return `${parts.join('')}--${BOUNDARY}--\r\n`;
}

const SHEET = 'First name,Phone,Date of birth\nAda,07700 900101,03/04/1984\nBo,12,\n';

describe('imports by hand and by program', () => {
  let test: TestApp;
  beforeAll(async () => {
    test = await startTestApp('2026-06-01T08:00:00Z');
  });
  afterAll(() => test.close());

  const send = async (url: string, payload: string, headers: Record<string, string>) =>
    await test.app.inject({
      method: 'POST',
      url,
      payload,
      headers: { 'content-type': `multipart/form-data; boundary=${BOUNDARY}`, ...headers },
    });
  /** Until nothing is under way any more. */
  const settled = async (id: string): Promise<ImportRun> => {
    for (;;) {
      const run = await test.reader.manager.findOneByOrFail(ImportRun, { id });
      if (run.state !== 'checking' && run.state !== 'running') return run;
      await new Promise((later) => setTimeout(later, 20));
    }
  };

  it('work on pages without script, from the file to the report', async () => {
    const jar = new Jar(test.app);
    jar.set('halfinch', await openSession(test.app, 'owner'));
    const csrf = await jar.csrf('/imports');
    const upload = (payload: string) => send(`/imports?_csrf=${csrf}`, payload, { cookie: jar.cookie() });

    const none = await upload(form({ kind: 'clients' }));
    expect(none.statusCode).toBe(422);
    expect(none.body).toContain('choose the file to be imported');
    const wrong = await upload(
      form({ kind: 'visits' }, { name: 'a.vcf', text: 'BEGIN:VCARD\r\nEND:VCARD\r\n' }),
    );
    expect(wrong.statusCode).toBe(422);
    expect(wrong.body).toContain('visits come from a sheet (CSV)');

    const taken = await upload(form({ kind: 'clients' }, { name: 'C:\\sheets\\<b>.csv', text: SHEET }));
    expect(taken.statusCode).toBe(303);
    const address = String(taken.headers.location);
    const id = address.split('/').at(-1) ?? '';
    const page = await jar.ask('GET', address);
    expect(page.body).toContain('&lt;b&gt;.csv');
    expect(page.body).toMatch(/<option value="1" selected>Phone \(07700 900101\)<\/option>/);
    expect(page.body).toContain('Say whether the day or the month comes first');

    const lacking = await jar.ask('POST', `${address}/settings`, { _csrf: csrf, step: 'check' });
    expect(lacking.statusCode).toBe(422);
    const checking = await jar.ask('POST', `${address}/settings`, {
      _csrf: csrf,
      dateOrder: 'day-first',
      step: 'check',
    });
    expect(checking.statusCode).toBe(303);
    await settled(id);
    const checked = await jar.ask('GET', address);
    expect(checked.body).toMatch(
      /<strong>1<\/strong> new, <strong>1<\/strong> refused\. Nothing has changed yet/,
    );
    expect(checked.body).toContain('Phone: “12” cannot be a phone number');
    expect(await test.reader.manager.count(Client)).toBe(0);

    expect((await jar.ask('POST', `${address}/run`, { _csrf: csrf })).statusCode).toBe(303);
    await settled(id);
    const done = await jar.ask('GET', `${address}?outcome=refused`);
    expect(done.body).toContain('This happened');
    expect(done.body).not.toContain('>Ada<');
    const refused = await jar.ask('GET', `${address}/refused.csv`);
    expect(refused.headers['content-type']).toContain('text/csv');
    expect(refused.body).toContain('Bo,12,,Phone: “12”');
    const [ada] = await test.reader.manager.find(Client);
    expect(ada).toMatchObject({ givenName: 'Ada', birthday: '1984-04-03' });
    const shut = await jar.ask('POST', `${address}/settings`, { _csrf: csrf, units: 'mm' });
    expect(shut.statusCode).toBe(409);
    expect((await jar.ask('POST', `${address}/remove`, { _csrf: csrf })).statusCode).toBe(303);
    expect((await jar.ask('GET', address)).statusCode).toBe(404);
    expect(await test.reader.manager.count(Client)).toBe(1);
  });

  it('work by the API, a page of the report at a time', async () => {
    const token = await openSession(test.app, 'owner', 'api');
    const headers = { authorization: `Bearer ${token}` };
    const lines = Array.from({ length: 30 }, (_, i) => `Client${i},c${i}@example.org`);
    const made = await send(
      '/api/v1/imports',
      form(
        { kind: 'clients' },
        { name: 'sheet.csv', text: `First name,Mail\n${lines.join('\n')}\nx,nomail\n` },
      ),
      headers,
    );
    expect(made.statusCode).toBe(201);
    const { import: run } = made.json() as { import: { id: string; rows: number; lacks: unknown[] } };
    expect(run).toMatchObject({ rows: 31, lacks: [], state: 'uploaded', format: 'csv' });
    const ask = async (method: 'GET' | 'POST' | 'PATCH' | 'DELETE', path: string, payload?: object) =>
      await test.app.inject({
        method,
        url: `/api/v1/imports/${run.id}${path}`,
        headers,
        ...(payload && { payload }),
      });
    const refusals = [
      { mapping: { phone: 99 } },
      { mapping: { shoes: 1 } },
      { dateOrder: 'whatever' },
      { staffId: test.fullCut.id },
      { nobody: 1 },
    ];
    for (const settings of refusals) expect((await ask('PATCH', '', settings)).statusCode).toBe(422);
    expect((await ask('PATCH', '', { onDouble: 'keep' })).json()).toMatchObject({
      import: { settings: { onDouble: 'keep' } },
    });
    expect((await ask('POST', '/stop')).json()).toMatchObject({ status: 409, code: 'IMPORT.IDLE' });
    expect((await ask('POST', '/run')).statusCode).toBe(202);
    await settled(run.id);
    const rows: number[] = [];
    let next: number | null = 0;
    while (next !== null) {
      const report = (await ask('GET', `/report?limit=7&from=${next}`)).json() as {
        lines: { row: number }[];
        next: number | null;
      };
      rows.push(...report.lines.map(({ row }) => row));
      next = report.next;
    }
    expect(rows).toEqual(Array.from({ length: 31 }, (_, i) => i + 2));
    expect((await ask('GET', '/report?outcome=refused')).json()).toMatchObject({
      lines: [{ row: 32, outcome: 'refused', column: 'Mail' }],
      next: null,
    });
    expect((await ask('GET', '/report?outcome=fine')).statusCode).toBe(422);
    expect((await ask('GET', '/report?from=-1')).statusCode).toBe(422);
    expect((await ask('GET', '/preview')).json()).toMatchObject({ headings: ['First name', 'Mail'] });
    expect((await ask('DELETE', '')).statusCode).toBe(204);
    expect((await ask('GET', '')).statusCode).toBe(404);
    expect((await test.ask('desk', 'GET', '/api/v1/imports')).status).toBe(403);
  });
});
