import { afterAll, beforeAll, describe, it, jest } from '@jest/globals';
import { Client } from '../../src/clients/index.js';
import { startTestApp, type TestApp } from '../factories/app.js';
import { importAll } from '../factories/exchange.js';

jest.setTimeout(120_000);

describe('imports', () => {
  let test: TestApp;
  beforeAll(async () => {
    test = await startTestApp('2026-06-01T08:00:00Z');
  });
  afterAll(() => test.close());

  const clients = () => test.reader.manager.find(Client, { order: { id: 'ASC' } });

  it('takes clients', async () => {
    const sheet =
      'Client no;First name;Surname;Mobile;E-mail;Date of birth;Notes\n' +
      '1;Ada;Lark;07700 900101;ada@example.org;27/05/1984;"likes; quiet"\n' +
      '2;Bo;Wren;+44 7700 900102;;31/02/1990;\n' +
      '3;Ada;Lark;07700900101;;;\n';
    const { run, lines } = await importAll(test, 'clients', sheet);
    console.log(run.problem, run.settings, run.survey, lines);
    console.log(await clients());
  });
});
