import { existsSync } from 'node:fs';
import { readdir, utimes, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { afterAll, beforeAll, beforeEach, describe, expect, it, jest } from '@jest/globals';
import { stringify } from 'csv-stringify/sync';
import fc from 'fast-check';
import { addDays } from '../../src/base/index.js';
import { Client, Clients } from '../../src/clients/index.js';
import { ImportSweeper } from '../../src/exchange/index.js';
import { SYSTEM } from '../../src/identity/index.js';
import { newId, SETTINGS, type Settings } from '../../src/store/index.js';
import { startTestApp, type TestApp } from '../factories/app.js';
import { handIn, importAll, importsOf } from '../factories/exchange.js';

jest.setTimeout(120_000);

const HEAD = 'Client no;First name;Surname;Mobile;E-mail;Date of birth;Allergies;Notes\n';

describe('taking over clients', () => {
  let test: TestApp;
  beforeAll(async () => {
    test = await startTestApp('2026-06-01T08:00:00Z');
  });
  afterAll(() => test.close());
  const clear = () =>
    test.units.run((manager) => manager.createQueryBuilder().delete().from(Client).execute());
  beforeEach(() => clear());

  const clients = () => test.reader.manager.find(Client, { order: { givenName: 'ASC', id: 'ASC' } });
  const outcomes = (lines: readonly { outcome: string }[]) => lines.map(({ outcome }) => outcome);

  it('takes good rows, and refuses bad ones naming column and remedy, all at once', async () => {
    const { run, lines } = await importAll(
      test,
      'clients',
      `${HEAD}1;Zoé;Łark;07700 900101;Zoe@Example.org;27/05/1984;nuts;"likes; quiet"\n2;Bo;Wren;12;nomail;31/02/1990;;\n3;;;;;;;\n`,
    );
    expect(run).toMatchObject({ state: 'done', newRows: 1, refusedRows: 2 });
    expect(lines[1]?.words).toMatch(
      /Mobile: “12” cannot be.*Date of birth: “31\/02\/1990” is no date.*Mail address:/,
    );
    expect(lines[1]).toMatchObject({ row: 3, column: 'Mobile', who: 'Bo Wren' });
    expect(lines[2]?.words).toMatch(/no name/);
    const [zoe] = await clients();
    expect(zoe).toMatchObject({
      givenName: 'Zoé',
      familyName: 'Łark',
      phone: '+447700900101',
      email: 'zoe@example.org',
      birthday: '1984-05-27',
      notes: 'likes; quiet',
    });
    expect(await test.app.get(Clients, { strict: false }).healthNotes(zoe?.id ?? '', SYSTEM)).toBe('nuts');
  });

  it('changes nothing on a second run, nor what people have changed since', async () => {
    const sheet = `${HEAD}1;Ada;Lark;07700 900101;;;;\n;Bo;Wren;;bo@example.org;05/06/1990;;\n`;
    await importAll(test, 'clients', sheet, { dateOrder: 'day-first' });
    const [ada] = await clients();
    await test.units.run((manager) => manager.update(Client, { id: ada?.id ?? '' }, { notes: 'ours' }));
    const before = await clients();
    const { run } = await importAll(test, 'clients', sheet, { dateOrder: 'day-first', onDouble: 'theirs' });
    expect(run).toMatchObject({ newRows: 0, changedRows: 0, sameRows: 2 });
    expect(await clients()).toEqual(before);
  });

  const DOUBLE =
    'First name;Surname;Mobile;E-mail;Date of birth;Notes;Allergies\nADA;Lark-Finch;07700900101;ada@example.org;1984-05-27;theirs;wool\n';
  it.each([
    ['keep', 'same', { familyName: 'Lark', email: null, notes: 'ours' }, 'nuts'],
    [
      'fill',
      'changed',
      { familyName: 'Lark', email: 'ada@example.org', notes: 'ours', birthday: '1984-05-27' },
      'nuts\nwool',
    ],
    [
      'theirs',
      'changed',
      { familyName: 'Lark-Finch', email: 'ada@example.org', notes: 'theirs' },
      'nuts\nwool',
    ],
    ['skip', 'skipped', { familyName: 'Lark', email: null, notes: 'ours' }, 'nuts'],
  ] as const)('merges who is here already by choice: %s', async (onDouble, outcome, expected, health) => {
    await test.ask('owner', 'POST', '/api/v1/clients', {
      givenName: 'Ada',
      familyName: 'Lark',
      phone: '+447700900101',
      notes: 'ours',
      healthNotes: 'nuts',
    });
    const checked = await importAll(test, 'clients', DOUBLE, { onDouble }, 'check');
    expect(await clients()).toEqual([expect.objectContaining({ email: null, notes: 'ours' })]);
    const done = await importAll(test, 'clients', DOUBLE, { onDouble });
    expect(outcomes(checked.lines)).toEqual([outcome]);
    expect(outcomes(done.lines)).toEqual([outcome]);
    const all = await clients();
    expect(all).toEqual([expect.objectContaining(expected)]);
    const { id = '', searchText } = all[0] ?? {};
    expect(searchText).toContain('447700900101');
    // What can hurt is never lost.
    expect(await test.app.get(Clients, { strict: false }).healthNotes(id, SYSTEM)).toBe(health);
  });

  it('knows the same person again inside the file, and leaves families apart', async () => {
    const sheet =
      'Name,Phone,Mail,Birthday,Notes\n' +
      'Ada Lark,07700 900101,,1984-05-27,\n' +
      '"Lark, Ada",,,1984-05-27,by name and birthday\n' +
      'Ada Lark,07700 900101,ada@example.org,,by phone\n' +
      'Edie Lark,07700 900101,,2012-01-02,her daughter\n' +
      'Ada Lark,07700 900101,,1950-01-01,another Ada\n';
    const checked = await importAll(test, 'clients', sheet, {}, 'check');
    expect(await clients()).toEqual([]);
    const done = await importAll(test, 'clients', sheet);
    for (const { lines } of [checked, done]) {
      expect(outcomes(lines)).toEqual(['new', 'changed', 'changed', 'new', 'refused']);
      expect(lines[1]?.words).toMatch(/same person as row 2 \(same name and birthday\)/);
      expect(lines[2]?.words).toMatch(/same person as row 2 \(same phone\)/);
      expect(lines[3]?.words).toMatch(/Shares a phone with Ada Lark/);
      expect(lines[4]?.words).toMatch(/another birthday/);
    }
    expect((await clients()).map(({ givenName, email }) => [givenName, email])).toEqual([
      ['Ada', 'ada@example.org'],
      ['Edie', null],
    ]);
    const strict = await importAll(
      test,
      'clients',
      'Name,Phone\nUna Lark,07700 900101\n',
      { onShared: 'refuse' },
      'check',
    );
    expect(strict.lines[0]).toMatchObject({
      outcome: 'refused',
      words: expect.stringMatching(/has the same phone/),
    });
  });

  it('asks for the order of day and month where the file does not tell', async () => {
    const { id } = await handIn(test, 'clients', `${HEAD}1;Ada;Lark;;;03/04/1984;;\n`);
    const imports = importsOf(test);
    await expect(imports.check(id, SYSTEM)).rejects.toMatchObject({
      code: 'IMPORT.LACKING',
      fields: [{ field: 'dateOrder', message: expect.stringMatching(/day or the month/) }],
    });
    await imports.setUp(id, { dateOrder: 'month-first' }, SYSTEM);
    await imports.runThrough(id, 'run', SYSTEM);
    expect(await clients()).toEqual([expect.objectContaining({ birthday: '1984-03-04' })]);
  });

  it('gives refused rows back as a sheet that takes itself when it is mended', async () => {
    const sheet = 'Name;Phone;Notes\nAda Lark;+44 7700 900101;=1+1\nBo Wren;12;+x\nCy Teal;34;"a;b"\n';
    const { run } = await importAll(test, 'clients', sheet);
    const refused = await importsOf(test).refused(run.id, SYSTEM);
    expect(refused).toMatch(/^\ufeffName;Phone;Notes;Why it was refused\r\nBo Wren;12;'\+x;/);
    const { run: again } = await importAll(test, 'clients', refused.replace(';12;', ';+44 7700 900102;'));
    expect(again).toMatchObject({ newRows: 1, refusedRows: 1 });
    expect((await clients()).map(({ notes }) => notes)).toEqual(['=1+1', '+x']);
  });

  it('gives back every sheet that another library wrote, in every dialect', async () => {
    const sign = fc.constantFrom(...'abcÄéñß €"\'=+-@;,|\n0'.split(''));
    const words = (maxLength: number) =>
      fc.string({ unit: sign, maxLength }).map((text) => text.trim().replace(/^'(?=[=+\-@])/, ''));
    const name = fc.string({ unit: fc.constantFrom(...'abÄéñ -.'.split('')), minLength: 1, maxLength: 20 });
    const person = fc.record({
      givenName: name.map((text) => `G${text.trim()}`),
      familyName: name.map((text) => `F${text.trim()}`),
      notes: words(30),
      birthday: fc.integer({ min: 0, max: 20_000 }).map((days) => addDays('1950-01-01', days)),
    });
    const dialect = fc.record({
      delimiter: fc.constantFrom(',', ';', '\t', '|'),
      record_delimiter: fc.constantFrom('unix' as const, 'windows' as const),
      quoted: fc.boolean(),
      escape_formulas: fc.boolean(),
      encoding: fc.constantFrom('utf-8', 'utf-8 marked', 'utf-16le', 'windows-1252'),
      order: fc.constantFrom('day-first', 'month-first', 'year-first'),
    });
    const written = (date: string, order: string) => {
      const [year, month, day] = date.split('-');
      if (order === 'year-first') return date;
      return order === 'day-first' ? `${day}.${month}.${year}` : `${month}/${day}/${year}`;
    };
    const bytesOf = (text: string, encoding: string): Uint8Array => {
      if (encoding === 'utf-16le') return Buffer.from(`\ufeff${text}`, 'utf16le');
      // Of these signs only the euro lies elsewhere in Windows-1252 than in Latin-1: at 0x80.
      if (encoding === 'windows-1252') return Buffer.from(text.replaceAll('€', '\x80'), 'latin1');
      return Buffer.from(encoding === 'utf-8 marked' ? `\ufeff${text}` : text);
    };
    await fc.assert(
      fc.asyncProperty(
        fc.uniqueArray(person, { minLength: 1, maxLength: 6, selector: (one) => one.birthday }),
        dialect,
        async (people, { encoding, order, ...options }) => {
          await clear();
          const rows = people.map(({ givenName, familyName, notes, birthday }) => [
            givenName,
            familyName,
            notes,
            written(birthday, order),
          ]);
          const text = stringify([['First name', 'Surname', 'Notes', 'Date of birth'], ...rows], options);
          const dateOrder = order === 'month-first' ? order : 'day-first';
          const { run } = await importAll(test, 'clients', bytesOf(text, encoding), { dateOrder });
          expect(run).toMatchObject({ state: 'done', newRows: people.length });
          const found = (await clients()).map(({ givenName, familyName, notes, birthday }) => ({
            givenName,
            familyName,
            notes,
            birthday,
          }));
          const byDay = (one: { birthday: string | null }, other: { birthday: string | null }) =>
            String(one.birthday) < String(other.birthday) ? -1 : 1;
          expect(found.sort(byDay)).toEqual([...people].sort(byDay));
        },
      ),
      { numRuns: 40 },
    );
  });

  it('takes cards', async () => {
    const { lines } = await importAll(
      test,
      'clients',
      'BEGIN:VCARD\r\nVERSION:3.0\r\nN:Lark;Ada;;;\r\nFN:Ada Lark\r\nTEL;TYPE=CELL:07700 900101\r\nBDAY:1984-05-27\r\nEND:VCARD\r\nBEGIN:VCARD\r\nVERSION:4.0\r\nFN:Bo Wren\r\nEMAIL:bo@example.org\r\nEND:VCARD\r\n',
    );
    expect(outcomes(lines)).toEqual(['new', 'new']);
    expect(await clients()).toEqual([
      expect.objectContaining({ givenName: 'Ada', phone: '+447700900101', birthday: '1984-05-27' }),
      expect.objectContaining({ givenName: 'Bo', familyName: 'Wren', email: 'bo@example.org' }),
    ]);
  });

  it('refuses a file that is none, keeping nothing', async () => {
    const before = await importsOf(test).list(test.salon.id, SYSTEM);
    const wrong = [
      ['clients', '', 'IMPORT.EMPTY'],
      ['clients', 'Name\n', 'IMPORT.EMPTY'],
      ['clients', Uint8Array.from([0x50, 0x4b, 3, 4, 0, 0]), 'IMPORT.NOT_TEXT'],
      ['visits', 'BEGIN:VCARD\nVERSION:3.0\nFN:A\nEND:VCARD\n', 'IMPORT.WRONG_FORMAT'],
      ['shoes', 'Name\nAda\n', 'INPUT.INVALID'],
    ] as const;
    for (const [kind, text, code] of wrong) {
      await expect(handIn(test, kind as 'clients', text)).rejects.toMatchObject({ code });
    }
    expect(await importsOf(test).list(test.salon.id, SYSTEM)).toEqual(before);
  });

  it('lets file and report go after a month, and pieces that a crash left; what was imported stays', async () => {
    const { id } = await handIn(test, 'clients', 'Name\nAda Lark\n');
    const folder = join(test.app.get<Settings>(SETTINGS, { strict: false }).dataDir, 'imports');
    const stray = join(folder, `${newId()}-0.part`);
    await importsOf(test).runThrough(id, 'run', SYSTEM);
    await writeFile(stray, 'x');
    await utimes(stray, 1, 1);
    const sweeper = test.app.get(ImportSweeper, { strict: false });
    await sweeper.sweep();
    expect(await readdir(folder)).toContain(`${id}-0.part`);
    expect(existsSync(stray)).toBe(false);
    const now = test.clock.at;
    test.clock.at += 31 * 86_400_000;
    await sweeper.sweep();
    test.clock.at = now;
    expect(await readdir(folder)).toEqual([]);
    expect(await importsOf(test).list(test.salon.id, SYSTEM)).toEqual([]);
    expect(await clients()).toHaveLength(1);
  });

  it('is the owner’s alone, by whatever way', async () => {
    const imports = importsOf(test);
    const desk = { accountId: null, role: 'desk' } as const;
    const narrow = { accountId: null, role: 'owner', scopes: ['client.write'] } as const;
    for (const actor of [desk, narrow]) {
      await expect(imports.list(test.salon.id, actor)).rejects.toMatchObject({ code: 'IMPORT.FORBIDDEN' });
      await expect(handIn(test, 'clients', 'Name\nAda\n', {}, actor)).rejects.toMatchObject({
        code: 'IMPORT.FORBIDDEN',
      });
    }
  });
});
