import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals';
import { Appointment } from '../../src/book/index.js';
import { Client } from '../../src/clients/index.js';
import { CutFormula, Visit, ZoneLength } from '../../src/cuts/index.js';
import { SYSTEM } from '../../src/identity/index.js';
import { Message } from '../../src/reminders/index.js';
import { ColourGate, SafetyNote, SkinTest } from '../../src/skin-tests/index.js';
import { startTestApp, type TestApp } from '../factories/app.js';
import { importAll, importsOf, linesOf } from '../factories/exchange.js';

jest.setTimeout(120_000);

describe('taking over what hangs on clients', () => {
  let test: TestApp;
  const ids = new Map<string, string>();
  beforeAll(async () => {
    test = await startTestApp('2026-06-01T08:00:00Z');
    await importAll(
      test,
      'clients',
      'No,Name,Phone,Date of birth\n7,Ada Lark,07700 900101,1984-05-27\n8,Bo Wren,07700 900102,1990-01-02\n9,Cy Teal,,1970-01-02\n10,Bo Wren,,\n',
      { mapping: { number: 0 } },
    );
    for (const { id, givenName, phone } of await test.reader.manager.find(Client)) {
      ids.set(phone ? givenName : `${givenName} without`, id);
    }
  });
  afterAll(() => test.close());

  const rowsOf = (lines: readonly { outcome: string; words: string }[]) =>
    lines.map(({ outcome, words }) => `${outcome}: ${words}`);

  it('visits, each once, with what they cost', async () => {
    const sheet =
      'Client number;Client;Date;Service;Stylist;Price\n' +
      '7;;27.05.2025;Full cut;Mara;52,50\n' +
      ';Cy Teal;28.05.2025;nape and sides tidy;Ilan Drosser;\n' +
      ';Bo Wren;28.05.2025;Full cut;Mara;\n' +
      '99;;28.05.2025;Full cut;Mara;\n' +
      '8;;28.05.2027;Full cut;Mara;\n' +
      '8;;28.05.2025;Perm;Nobody;many\n' +
      '7;;27.05.2025;Full cut;Mara;52,50\n' +
      '8;;29.05.2025;Root colour;Mara;\n';
    const { lines } = await importAll(test, 'visits', sheet);
    expect(rowsOf(lines)).toEqual([
      'new: Full cut on 2025-05-27 with Mara Quillfeather.',
      'new: Nape and sides tidy on 2025-05-28 with Ilan Drosser.',
      expect.stringMatching(/^refused: 2 clients here could be meant/),
      expect.stringMatching(/^refused: There is no such client here \(99\)/),
      expect.stringMatching(/^refused: Date: 2027-05-28 is still to come/),
      expect.stringMatching(
        /^refused: Stylist: “Nobody” is nobody.*Service: “Perm” is no service.*Price: “many”/,
      ),
      'same: The same as row 2.',
      // A colour goes through the gate, also one of the past.
      expect.stringMatching(/^refused: .*product line/),
    ]);
    const visits = await test.reader.manager.find(Visit, { order: { visitOn: 'ASC' } });
    expect(visits.map(({ visitOn, priceMinor }) => [visitOn, priceMinor])).toEqual([
      ['2025-05-27', 5250],
      ['2025-05-28', 1800],
    ]);
    expect(visits.every(({ closedAt, dayEndsAt }) => closedAt < dayEndsAt)).toBe(true);
    const { run } = await importAll(test, 'visits', sheet);
    expect(run).toMatchObject({ newRows: 0, changedRows: 0 });
    expect(await test.reader.manager.count(Visit)).toBe(2);
  });

  it('lengths, a column a zone or a zone a row, in whatever they were measured', async () => {
    const wide =
      'Client no,Cut on,Fringe,Nape,Top,Back\n7,2025-05-27,"5,2 cm","1 3/8""",2½,\n7,2025-06-20,4,,,\n7,2025-05-30,long,,,\n';
    const { lines } = await importAll(test, 'lengths', wide, { units: 'in' });
    expect(rowsOf(lines)).toEqual([
      'new: Lengths left on 2025-05-27 at fringe, top, nape.',
      expect.stringMatching(/^refused: Cut on: there is no visit on 2025-06-20/),
      expect.stringMatching(/^refused: Fringe: “long” is no length/),
    ]);
    const long =
      'Client no,Date,Zone,Length\n8,2025-05-01,bangs,52 mm\n8,2025-05-01,Neck,12 mm\n8,2025-05-01,bangs,99 mm\n8,2025-05-01,beard,9\n';
    const second = await importAll(test, 'lengths', long, {
      serviceId: test.fullCut.id,
      staffId: test.mara.id,
    });
    expect(rowsOf(second.lines)).toEqual([
      'new: Lengths left on 2025-05-01 at fringe.',
      'new: Lengths left on 2025-05-01 at nape.',
      expect.stringMatching(/^refused: This cut was imported before with other values/),
      expect.stringMatching(/^refused: Zone: “beard” is no zone/),
    ]);
    const lengths = async (client: string) => {
      const [formula] = await test.reader.manager.find(CutFormula, {
        where: { clientId: ids.get(client) ?? '' },
      });
      const zones = await test.reader.manager.find(ZoneLength, { where: { formulaId: formula?.id ?? '' } });
      return {
        cutOn: formula?.cutOn,
        zones: Object.fromEntries(zones.map(({ zone, leftMm }) => [zone, leftMm])),
      };
    };
    // 1 3/8 in is 34.925 mm, 2 1/2 in is 63.5 mm (1 in = 25.4 mm).
    expect(await lengths('Ada')).toEqual({
      cutOn: '2025-05-27',
      zones: { fringe: 52, top: 63.5, nape: expect.closeTo(34.925, 1) },
    });
    expect(await lengths('Bo')).toEqual({ cutOn: '2025-05-01', zones: { fringe: 52, nape: 12 } });
    expect((await importAll(test, 'lengths', wide, { units: 'in' })).run).toMatchObject({ newRows: 0 });
  });

  it('skin tests, which never loosen the gate', async () => {
    const clientId = ids.get('Ada') ?? '';
    const gate = (line: string) =>
      test.app.get(ColourGate, { strict: false }).check(test.reader.manager, {
        clientId,
        salonId: test.salon.id,
        at: test.clock.now(),
        now: test.clock.now(),
        productLine: line,
      });
    const head = 'Client no,Date applied,Applied at,Product line,Result,Read on,Read at\n';
    const { lines } = await importAll(
      test,
      'skin-tests',
      `${head}7,2026-05-01,,Alder Cream,clear,,\n` +
        '7,2026-05-02,,Birch Cream,negative,2026-05-04,\n' +
        '7,2026-05-02,09:00,Cedar Cream,clear,2026-05-04,08:59\n' +
        '7,2026-05-02,,Dogwood Cream,clear,2026-05-05,\n' +
        '7,2026-05-02,09:00,Elder Cream,clear,2026-05-04,09:00\n' +
        '7,,,Fir Cream,clear,2026-05-04,\n' +
        '7,2026-05-02,,,clear,2026-05-05,\n' +
        '7,2026-05-02,,Gorse Cream,,2026-05-05,\n' +
        '7,2026-05-02,,Gorse Cream,yes,2026-05-05,\n' +
        '7,2026-07-02,,Hazel Cream,clear,2026-07-05,\n' +
        '7,2026-05-02,,Ivy Cream,clear,2026-04-30,\n',
    );
    expect(rowsOf(lines)).toEqual([
      expect.stringMatching(/^new: Kept, but it does not count: it is not known when/),
      expect.stringMatching(/^new: Kept, but it does not count: 48 hours/),
      expect.stringMatching(/^new: Kept, but it does not count: 48 hours/),
      'new: Dogwood Cream, clear; marked as taken over.',
      'new: Elder Cream, clear; marked as taken over.',
      expect.stringMatching(/^refused: .*no date of applying/),
      expect.stringMatching(/^refused: .*no product line/),
      expect.stringMatching(/^refused: Result: this row has no result/),
      expect.stringMatching(/^refused: Result: “yes” is no result/),
      expect.stringMatching(/^refused: Applied on: .*still to come/),
      expect.stringMatching(/^refused: Read on: this is before/),
    ]);
    for (const line of ['Alder Cream', 'Birch Cream', 'Cedar Cream', 'Fir Cream', 'Gorse Cream']) {
      await expect(gate(line)).rejects.toMatchObject({ kind: 'refused' });
    }
    for (const line of ['Dogwood Cream', 'Elder Cream']) {
      expect((await gate(line)).cautions.join(' ')).toMatch(/taken over from other records/);
    }
    const page = await test.ask('stylist', 'GET', `/clients/${clientId}/skin-tests`);
    expect(String(page.body['text'])).toMatch(/Taken over from other records/);

    // A reaction bars, whatever else is known of it and whatever clear results come with it.
    const reacted = await importAll(
      test,
      'skin-tests',
      `${head}7,2026-05-02,,Dogwood Cream,reacted,2026-05-05,\n7,2026-05-10,,Kelp Cream,clear,2026-05-14,\n8,,,,positive,,\n8,2026-05-10,,Kelp Cream,clear,2026-05-14,\n`,
    );
    expect(rowsOf(reacted.lines)).toEqual([
      expect.stringMatching(/^new: A reaction is told/),
      expect.stringMatching(/^refused: A reaction is on record/),
      expect.stringMatching(/^new: A reaction is told/),
      expect.stringMatching(/^refused: A reaction is on record/),
    ]);
    for (const line of ['Dogwood Cream', 'Elder Cream', 'Kelp Cream']) {
      await expect(gate(line)).rejects.toMatchObject({ code: 'SKIN_TEST.REACTION' });
    }
    expect(await test.reader.manager.countBy(SafetyNote, { kind: 'colour-reaction' })).toBe(2);
    expect(await test.reader.manager.countBy(SkinTest, { clientId })).toBe(5);
  });

  it('appointments, through the book’s own checks, without writing to anybody', async () => {
    const sheet =
      'Booking id,Client no,Start,Minutes,Service,Stylist\n' +
      'a1,7,2026-06-10 10:00,45,Full cut,Mara\n' +
      'a2,9,2026-06-10 10:30,,Full cut,Mara\n' +
      'a3,9,2026-06-10 21:00,,Full cut,Mara\n' +
      'a4,9,2026-05-01 10:00,,Full cut,Mara\n' +
      'a5,9,2026-06-11,,Full cut,Mara\n' +
      'a6,9,2026-06-11 10:00,,Root colour,Mara\n';
    const checked = await importAll(test, 'appointments', sheet, {}, 'check');
    expect(await test.reader.manager.count(Appointment)).toBe(0);
    const done = await importAll(test, 'appointments', sheet);
    for (const { lines } of [checked, done]) {
      expect(rowsOf(lines)).toEqual([
        'new: Full cut, 2026-06-10 10:00, with Mara Quillfeather.',
        expect.stringMatching(/^refused: Somebody else has that time/),
        expect.stringMatching(/^refused: .*(rota|work)/i),
        expect.stringMatching(/^refused: That time has passed/),
        expect.stringMatching(/^refused: Start: “2026-06-11” has no time/),
        expect.stringMatching(/^refused: .*skin test/i),
      ]);
    }
    expect(await test.reader.manager.count(Appointment)).toBe(1);
    expect(await test.reader.manager.countBy(Message, { kind: 'appointment-confirmation' })).toBe(0);
    expect((await importAll(test, 'appointments', sheet)).run).toMatchObject({ newRows: 0, sameRows: 1 });
    const calendar =
      'BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:x\r\nBEGIN:VEVENT\r\nUID:e1\r\nDTSTART;TZID=Europe/London:20260612T140000\r\nDTEND;TZID=Europe/London:20260612T144500\r\nSUMMARY:Cy Teal\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nUID:e2\r\nDTSTART:20260613T140000Z\r\nRRULE:FREQ=WEEKLY\r\nSUMMARY:Cy Teal\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n';
    const { lines } = await importAll(test, 'appointments', calendar, {
      serviceId: test.fullCut.id,
      staffId: test.ilan.id,
    });
    expect(rowsOf(lines)).toEqual([
      'new: Full cut, 2026-06-12 14:00, with Ilan Drosser.',
      expect.stringMatching(/^refused: It repeats/),
    ]);
    expect(
      await linesOf(test, (await importsOf(test).list(test.salon.id, SYSTEM))[0]?.id ?? ''),
    ).toHaveLength(2);
  });
});
