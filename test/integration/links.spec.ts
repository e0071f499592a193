import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { Appointment, issueLink, openLink, PrivateLink, sweepLinks } from '../../src/book/index.js';
import { AuditEntry, SYSTEM } from '../../src/identity/index.js';
import { addGuests, bookFaults, openDesk, type TestDesk } from '../factories/book.js';

const HOUR = 3_600_000;
const at = (text: string) => Date.parse(text);

let desk: TestDesk;
let appointment: Appointment;
let token: string;
beforeEach(async () => {
  desk = await openDesk('2026-06-01T08:00:00Z');
  appointment = await book(desk.clientId, '10:00');
  token = await issue(appointment);
});
afterEach(() => desk.store.close());

const book = (clientId: string, time: string) =>
  desk.book.book(
    {
      clientId,
      staffId: desk.place.mara.id,
      serviceId: desk.place.fullCut.id,
      date: '2026-06-09',
      time,
      notes: 'Between us: pays late.',
    },
    SYSTEM,
  );
const issue = (of: Appointment) => desk.store.units.run((manager) => desk.links.issue(manager, of));

describe('a private link', () => {
  it('carries 192 random bits, of which the database keeps only a hash', async () => {
    expect(Buffer.from(token, 'base64url')).toHaveLength(24);
    const others = await Promise.all(Array.from({ length: 50 }, () => issue(appointment)));
    expect(new Set([token, ...others]).size).toBe(51);
    const rows = await desk.store.reader.manager.query('SELECT * FROM private_link');
    expect(rows).toHaveLength(51);
    const kept = JSON.stringify(rows);
    for (const secret of [token, ...others]) expect(kept).not.toContain(secret);
  });

  it('shows the one appointment, and nothing that is the salon’s own business', async () => {
    const seen = await desk.links.resolve(token);
    expect(seen).toMatchObject({
      appointmentId: appointment.id,
      state: 'booked',
      clientName: 'Ottilie',
      serviceName: 'Full cut',
      staffName: 'Mara Quillfeather',
      date: '2026-06-09',
      time: '10:00',
      may: { confirm: true, move: true, cancel: true },
      salon: { phone: '+442079460301' },
    });
    expect(JSON.stringify(seen)).not.toContain('pays late');
    expect(JSON.stringify(seen)).not.toContain('Farnsby');
  });

  it.each([
    ['of another appointment’s guess', 'A'.repeat(32)],
    ['too short', 'abc'],
    ['no text', 42],
    ['with a wildcard', '%'.repeat(32)],
    ['missing', undefined],
  ])('that is %s does not open', async (_, guess) => {
    const refusal = { kind: 'not-found', code: 'LINK.NOT_VALID' };
    await expect(desk.links.resolve(guess)).rejects.toMatchObject(refusal);
    await expect(desk.links.confirm(guess)).rejects.toMatchObject(refusal);
    await expect(desk.links.cancel(guess)).rejects.toMatchObject(refusal);
    await expect(desk.links.slots(guess)).rejects.toMatchObject(refusal);
    const input = { startsAt: at('2026-06-10T09:00Z') };
    await expect(desk.links.move(guess, input)).rejects.toMatchObject(refusal);
  });

  it('stops opening when the appointment has ended, and moves along with it', async () => {
    desk.store.clock.at = appointment.endsAt - 1;
    await desk.links.resolve(token);
    await desk.book.move(appointment.id, { date: '2026-06-09', time: '14:00' }, SYSTEM);
    desk.store.clock.at = appointment.endsAt + 1;
    expect(await desk.links.resolve(token)).toMatchObject({ time: '14:00' });
    desk.store.clock.at = at('2026-06-09T13:45Z');
    await expect(desk.links.resolve(token)).rejects.toMatchObject({ code: 'LINK.NOT_VALID' });
    expect(await desk.store.reader.manager.count(PrivateLink)).toBe(1);
  });
});

describe('through her link a client', () => {
  it('is deleted a week after it ran out, however many there are, and not while it may open anything', async () => {
    const { units, reader, clock } = desk.store;
    const issued = await units.run((manager) =>
      desk.links.issueAll(
        manager,
        Array.from({ length: 600 }, () => appointment),
      ),
    );
    const feed = await units.run((manager) =>
      issueLink(manager, 'calendar', { staffId: appointment.staffId }, clock.now(), null),
    );
    const later = await book(desk.clientId, '14:00');
    const open = await issue(later);
    await units.run((manager) =>
      manager.update(PrivateLink, { appointmentId: later.id }, { expiresAt: later.endsAt + 14 * 24 * HOUR }),
    );
    expect(await sweepLinks(units, reader, appointment.endsAt + 7 * 24 * HOUR - 1)).toBe(0);
    expect(await sweepLinks(units, reader, appointment.endsAt + 7 * 24 * HOUR)).toBe(issued.length + 1);
    expect(await reader.manager.count(PrivateLink)).toBe(2);
    clock.at = appointment.endsAt + 7 * 24 * HOUR;
    await expect(desk.links.resolve(token)).rejects.toMatchObject({ code: 'LINK.NOT_VALID' });
    expect((await desk.links.resolve(open)).appointmentId).toBe(later.id);
    await expect(openLink(reader.manager, 'calendar', feed, clock.now())).resolves.toMatchObject({
      kind: 'calendar',
    });
  });

  it('confirms, as herself, and twice is once', async () => {
    const now = desk.store.clock.now();
    expect(await desk.links.confirm(token, '192.0.2.7')).toMatchObject({
      confirmedAt: now,
      may: { confirm: false },
    });
    desk.store.clock.at += HOUR;
    expect(await desk.links.confirm(token)).toMatchObject({ confirmedAt: now });
    const entries = await desk.store.reader.manager.findBy(AuditEntry, { action: 'appointment.confirm' });
    expect(entries).toMatchObject([{ accountId: null, address: '192.0.2.7', subjectId: appointment.id }]);
  });

  it('moves to a free slot near her day, which confirms it; moved by the salon it must be confirmed anew', async () => {
    const slots = await desk.links.slots(token);
    expect(slots.length).toBeGreaterThan(5);
    expect(slots[0]).toMatchObject({ staffId: desk.place.mara.id, date: '2026-06-09' });
    const chosen = slots.find(({ date }) => date === '2026-06-10');
    const moved = await desk.links.move(token, { startsAt: chosen!.startsAt });
    expect(moved).toMatchObject({ startsAt: chosen!.startsAt, confirmedAt: desk.store.clock.now() });
    await desk.book.move(appointment.id, { date: '2026-06-11', time: '09:00' }, SYSTEM);
    expect(await desk.links.resolve(token)).toMatchObject({ date: '2026-06-11', confirmedAt: null });
    await desk.links.confirm(token);
    // Stretched at the same start it stays confirmed.
    await desk.book.move(appointment.id, { minutes: 60 }, SYSTEM);
    expect(await desk.links.resolve(token)).toMatchObject({ confirmedAt: desk.store.clock.now() });
    expect(await bookFaults(desk.store)).toEqual([]);
  });

  it('cannot move to a time that is not offered', async () => {
    const [guest] = await addGuests(desk.store, desk.place.salon.id, 1);
    await book(guest!, '11:00');
    const refusal = {
      kind: 'conflict',
      code: 'LINK.NOT_OFFERED',
      fields: [expect.objectContaining({ field: 'startsAt' })],
    };
    for (const time of ['2026-06-09T10:00Z', '2026-06-09T05:00Z', '2026-06-10T08:07Z', '2026-05-01T09:00Z']) {
      await expect(desk.links.move(token, { startsAt: at(time) })).rejects.toMatchObject(refusal);
    }
    await expect(desk.links.move(token, { startsAt: 'soon' })).rejects.toMatchObject({
      code: 'INPUT.INVALID',
    });
    expect(await desk.links.resolve(token)).toMatchObject({ time: '10:00' });
  });

  it('moves and cancels by herself only as long as the salon’s notice allows', async () => {
    const { salon } = desk.place;
    await desk.store.salons.change(salon.id, { cancelNoticeHours: 48 }, SYSTEM);
    desk.store.clock.at = appointment.startsAt - 48 * HOUR;
    expect(await desk.links.resolve(token)).toMatchObject({ may: { move: true, cancel: true } });
    desk.store.clock.at += 1;
    expect(await desk.links.resolve(token)).toMatchObject({
      may: { confirm: true, move: false, cancel: false },
    });
    const refusal = {
      kind: 'refused',
      code: 'LINK.TOO_LATE',
      message: expect.stringContaining('less than 48 hours'),
      details: { phone: '+442079460301' },
    };
    await expect(desk.links.cancel(token)).rejects.toMatchObject(refusal);
    await expect(desk.links.slots(token)).rejects.toMatchObject(refusal);
    const input = { startsAt: at('2026-06-10T09:00Z') };
    await expect(desk.links.move(token, input)).rejects.toMatchObject(refusal);
    await desk.links.confirm(token);
    await desk.store.salons.change(salon.id, { cancelNoticeHours: 0 }, SYSTEM);
    expect(await desk.links.cancel(token)).toMatchObject({ state: 'cancelled' });
  });

  it('has a day’s notice where the salon set none; what is cancelled stays so', async () => {
    desk.store.clock.at = appointment.startsAt - 24 * HOUR + 1;
    await expect(desk.links.cancel(token)).rejects.toMatchObject({ code: 'LINK.TOO_LATE' });
    desk.store.clock.at = appointment.startsAt - 24 * HOUR;
    await desk.links.cancel(token);
    expect(await desk.links.resolve(token)).toMatchObject({
      state: 'cancelled',
      may: { confirm: false, move: false, cancel: false },
    });
    for (const again of [desk.links.cancel(token), desk.links.confirm(token), desk.links.slots(token)]) {
      await expect(again).rejects.toMatchObject({ code: 'BOOK.WRONG_STATE' });
    }
    expect(await bookFaults(desk.store)).toEqual([]);
  });

  it('is offered nothing, rather than an error, once her service is another or off the list', async () => {
    const steps = [
      { activity: 'active', minutes: 30 },
      { activity: 'processing', minutes: 60 },
      { activity: 'active', minutes: 30 },
    ];
    const { fullCut } = desk.place;
    await desk.store.salons.changeService(fullCut.id, { minutes: 120, steps }, SYSTEM);
    expect(await desk.links.slots(token)).toEqual([]);
    await desk.store.salons.changeService(fullCut.id, { active: false }, SYSTEM);
    expect(await desk.links.slots(token)).toEqual([]);
    const input = { startsAt: at('2026-06-10T09:00Z') };
    await expect(desk.links.move(token, input)).rejects.toMatchObject({ code: 'LINK.NOT_OFFERED' });
  });

  it('opens no other client’s appointment, whatever is sent along', async () => {
    const [guest] = await addGuests(desk.store, desk.place.salon.id, 1);
    const theirs = await book(guest!, '14:00');
    const input = { startsAt: at('2026-06-10T09:00Z'), appointmentId: theirs.id };
    await expect(desk.links.move(token, input)).rejects.toMatchObject({
      code: 'INPUT.INVALID',
      fields: [expect.objectContaining({ field: 'appointmentId' })],
    });
    await desk.links.cancel(token);
    expect(await desk.book.get(theirs.id)).toMatchObject({ state: 'booked', startsAt: theirs.startsAt });
  });
});
