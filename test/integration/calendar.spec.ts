import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import ICAL from 'ical.js';
import { type Appointment, Calendars } from '../../src/book/index.js';
import { SYSTEM } from '../../src/identity/index.js';
import { addGuests, openDesk, type TestDesk } from '../factories/book.js';
import { makeClient } from '../factories/clients.js';

// Read with ical.js, which shares no code with what writes it.

let desk: TestDesk;
let calendars: Calendars;
let appointment: Appointment;
beforeEach(async () => {
  desk = await openDesk('2026-06-01T08:00:00Z');
  const { units, reader, clock, audit } = desk.store;
  calendars = new Calendars(units, reader, clock, audit, { publicUrl: 'https://book.example.org' });
  appointment = await book(desk.clientId, '2026-06-09', '10:00');
});
afterEach(() => desk.store.close());

const book = (clientId: string, date: string, time: string) =>
  desk.book.book(
    { clientId, staffId: desk.place.mara.id, serviceId: desk.place.fullCut.id, date, time, notes: 'Cough' },
    SYSTEM,
  );
const parsed = (text: string) => {
  const calendar = new ICAL.Component(ICAL.parse(text));
  const events = calendar.getAllSubcomponents('vevent').map((vevent) => new ICAL.Event(vevent));
  return { calendar, method: calendar.getFirstPropertyValue('method'), events };
};
const fileOf = async () => {
  const { method, content } = await calendars.file(appointment.id);
  const file = parsed(content);
  expect(file.method).toBe(method);
  expect(file.events).toHaveLength(1);
  return { ...file, event: file.events[0]! };
};

describe('the file of an appointment', () => {
  it('holds what RFC 5546 section 3.2.1 asks of a published event', async () => {
    const { method, event } = await fileOf();
    expect(method).toBe('PUBLISH');
    expect(event.uid).toBe(`${appointment.id}@book.example.org`);
    expect(event.sequence).toBe(0);
    expect(event.startDate.toJSDate().getTime()).toBe(appointment.startsAt);
    expect(event.endDate.toJSDate().getTime()).toBe(appointment.endsAt);
    expect(event.startDate.zone.tzid).toBe('UTC');
    expect(event.summary).toBe('Full cut, Wren & Tallow');
    expect(event.location).toBe('3 Candle Row, Oxmarsh');
    expect(event.organizer).toBe('mailto:chairs@wren-tallow.example.org');
    expect(event.component.getFirstPropertyValue('status')).toBe('CONFIRMED');
    expect(event.component.getAllProperties('attendee')).toEqual([]);
    expect(String(event.component.getFirstPropertyValue('dtstamp'))).toBe('2026-06-01T08:00:00Z');
  });

  it('replaces the earlier one after every change, and a cancellation takes it away', async () => {
    // What a calendar program keeps: by UID, the highest SEQUENCE (RFC 5546 section 2.1.4).
    const kept = new Map<string, { sequence: number; start: number; status: string }>();
    const receive = async () => {
      const { event, method } = await fileOf();
      const known = kept.get(event.uid);
      expect(event.sequence).toBeGreaterThan(known?.sequence ?? -1);
      const status = String(event.component.getFirstPropertyValue('status'));
      kept.set(event.uid, {
        sequence: event.sequence,
        start: event.startDate.toJSDate().getTime(),
        status,
      });
      return method;
    };
    await receive();
    const moved = await desk.book.move(appointment.id, { date: '2026-06-10', time: '11:00' }, SYSTEM);
    expect(await receive()).toBe('PUBLISH');
    await desk.book.move(appointment.id, { minutes: 60 }, SYSTEM);
    await receive();
    await desk.book.cancel(appointment.id, {}, SYSTEM);
    // RFC 5546 section 3.2.5.
    expect(await receive()).toBe('CANCEL');
    expect([...kept.values()]).toEqual([{ sequence: 3, start: moved.startsAt, status: 'CANCELLED' }]);
  });

  it('survives names that would break out of it, and folds long lines', async () => {
    const name = 'Cut; "wash", \\ dry\r\nBEGIN:VALARM';
    const address = `Straße ${'ä漢'.repeat(60)}\nOxmarsh`;
    await desk.store.salons.changeService(desk.place.fullCut.id, { name }, SYSTEM);
    await desk.store.salons.change(desk.place.salon.id, { address, name: 'Wren:"T"; X=1' }, SYSTEM);
    const { event, calendar } = await fileOf();
    expect(event.location).toBe(address);
    expect(event.summary).toContain('Cut;');
    expect(event.organizer).toBe('mailto:chairs@wren-tallow.example.org');
    expect(calendar.getAllSubcomponents('valarm')).toEqual([]);
    expect(event.component.getAllSubcomponents()).toEqual([]);
    const { content } = await calendars.file(appointment.id);
    // RFC 5545 section 3.1: lines end in CRLF and should not be longer than 75 octets.
    for (const line of content.split('\r\n')) {
      expect(Buffer.byteLength(line)).toBeLessThanOrEqual(75);
      expect(line).not.toMatch(/[\r\n]/);
    }
  });

  // IANA tzdata 2025b: clocks change in the night before. 09:00 on the salon's wall is this instant.
  it.each([
    ['Europe/London', '2027-03-28', '2027-03-28T08:00:00Z'],
    ['Europe/London', '2027-10-31', '2027-10-31T09:00:00Z'],
    ['America/New_York', '2027-03-14', '2027-03-14T13:00:00Z'],
    ['America/New_York', '2027-11-07', '2027-11-07T14:00:00Z'],
    ['Australia/Sydney', '2027-04-04', '2027-04-03T23:00:00Z'],
    ['Australia/Sydney', '2027-10-03', '2027-10-02T22:00:00Z'],
  ])('names the right instant in %s on %s', async (zone, date, instant) => {
    await desk.store.salons.change(desk.place.salon.id, { zone }, SYSTEM);
    appointment = await book(desk.clientId, date, '09:00');
    const { event } = await fileOf();
    expect(event.startDate.toString()).toBe(instant);
  });

  it('of nothing is not there', async () => {
    await expect(calendars.file('nothing')).rejects.toMatchObject({ code: 'BOOK.NOT_FOUND' });
  });
});

describe('a stylist’s feed', () => {
  it('holds her appointments and little of her clients', async () => {
    const { mara, salon } = desk.place;
    const { id } = await makeClient(desk.store, salon.id, {
      givenName: 'Bartholomew',
      familyName: 'Secretname',
      knownAs: 'Barty',
      phone: '020 7946 0999',
    });
    const second = await book(id, '2026-06-09', '14:00');
    const [guest] = await addGuests(desk.store, salon.id, 1);
    const dropped = await book(guest!, '2026-06-09', '15:00');
    await desk.book.cancel(dropped.id, {}, SYSTEM);
    await desk.book.book(
      {
        clientId: guest,
        staffId: desk.place.ilan.id,
        serviceId: desk.place.tidy.id,
        date: '2026-06-09',
        time: '09:00',
      },
      SYSTEM,
    );
    const text = await calendars.feed(await calendars.issueFeed(mara.id, SYSTEM));
    const { calendar, events } = parsed(text);
    expect(calendar.getFirstPropertyValue('x-wr-calname')).toBe('Mara Quillfeather, Wren & Tallow');
    expect(events.map(({ uid }) => uid)).toEqual([
      `${appointment.id}@book.example.org`,
      `${second.id}@book.example.org`,
    ]);
    expect(events.map(({ summary }) => summary)).toEqual(['Full cut: Ottilie', 'Full cut: Barty']);
    for (const secret of ['Secretname', 'Bartholomew', '7946 0999', '79460999', 'Cough']) {
      expect(text).not.toContain(secret);
    }
  });

  it('shows a move at the same entry', async () => {
    const token = await calendars.issueFeed(desk.place.mara.id, SYSTEM);
    await desk.book.move(appointment.id, { date: '2026-06-10', time: '11:00' }, SYSTEM);
    const [event] = parsed(await calendars.feed(token)).events;
    expect(event?.uid).toBe(`${appointment.id}@book.example.org`);
    expect(event?.sequence).toBe(1);
    expect(event?.startDate.toString()).toBe('2026-06-10T10:00:00Z');
  });

  it('opens with its newest secret only, and to nobody once she has left', async () => {
    const { mara } = desk.place;
    const refusal = { kind: 'not-found', code: 'LINK.NOT_VALID' };
    const first = await calendars.issueFeed(mara.id, SYSTEM);
    const second = await calendars.issueFeed(mara.id, SYSTEM);
    await expect(calendars.feed(first)).rejects.toMatchObject(refusal);
    await calendars.feed(second);
    await desk.store.salons.changeStaff(mara.id, { active: false }, SYSTEM);
    await expect(calendars.feed(second)).rejects.toMatchObject(refusal);
    await desk.store.salons.changeStaff(mara.id, { active: true }, SYSTEM);
    await calendars.endFeed(mara.id, SYSTEM);
    await expect(calendars.feed(second)).rejects.toMatchObject(refusal);
    await expect(calendars.issueFeed('nobody', SYSTEM)).rejects.toMatchObject({ code: 'STAFF.NOT_FOUND' });
  });

  it('is not opened by a client’s link, nor the other way round', async () => {
    const link = await desk.store.units.run((manager) => desk.links.issue(manager, appointment));
    const feed = await calendars.issueFeed(desk.place.mara.id, SYSTEM);
    const refusal = { code: 'LINK.NOT_VALID' };
    await expect(calendars.feed(link)).rejects.toMatchObject(refusal);
    await expect(desk.links.resolve(feed)).rejects.toMatchObject(refusal);
    await expect(desk.offers.resolve(feed)).rejects.toMatchObject(refusal);
  });
});
