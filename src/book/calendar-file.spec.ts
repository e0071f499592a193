import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import ICAL from 'ical.js';
import ical, { ICalCalendarMethod, ICalEventStatus } from 'ical-generator';
import { appointmentFile, type CalendarEntry, feedFile } from './calendar-file.js';

const NOW = Date.UTC(2026, 0, 2);
const MADE = { domain: 'book.example.org', now: NOW };

/** Every property as ical.js reads it: name, parameters, type, value. */
function read(text: string) {
  const [, properties, [event]] = ICAL.parse(text) as unknown as [
    string,
    unknown[],
    [string, unknown[], unknown][],
  ];
  return { properties: new Set(properties.map(asText)), event: new Set((event?.[1] ?? []).map(asText)) };
}
const asText = (value: unknown) => JSON.stringify(value);

// Without what has its own rule: control characters, which neither writer keeps, and the blanks that a line begins
// and ends with.
const words = fc
  .string({ unit: 'grapheme', maxLength: 120 })
  .map((text) => `a${text.replace(/[\p{Cc}"]/gu, '')}z`);
const entries: fc.Arbitrary<CalendarEntry> = fc.record({
  appointment: fc.record({
    id: fc.uuid(),
    startsAt: fc.integer({ min: NOW, max: NOW + 1e11 }).map((at) => at - (at % 1000)),
    endsAt: fc.integer({ min: NOW + 1e11, max: NOW + 2e11 }).map((at) => at - (at % 1000)),
    moves: fc.nat(9),
    state: fc.constantFrom('booked' as const, 'cancelled' as const),
  }),
  summary: words,
  description: words,
  location: fc.tuple(words, words).map((lines) => lines.join('\n')),
  url: fc.stringMatching(/^[\w-]{32}$/).map((token) => `https://book.example.org/a/${token}`),
  organizer: fc.record({
    name: words.filter((name) => !name.includes('\\')),
    email: fc.constant('chairs@example.org'),
  }),
});

/** The same by another program's writer: ical-generator 10. */
function byLibrary(entry: CalendarEntry): string {
  const { appointment, summary, description = '', location, url = '', organizer } = entry;
  const isCancelled = appointment.state === 'cancelled';
  const calendar = ical({
    prodId: { company: 'Halfinch', product: 'Halfinch', language: 'EN' },
    method: isCancelled ? ICalCalendarMethod.CANCEL : ICalCalendarMethod.PUBLISH,
  });
  calendar.createEvent({
    id: `${appointment.id}@book.example.org`,
    sequence: appointment.moves + (isCancelled ? 1 : 0),
    status: isCancelled ? ICalEventStatus.CANCELLED : ICalEventStatus.CONFIRMED,
    stamp: new Date(NOW),
    start: new Date(appointment.startsAt),
    end: new Date(appointment.endsAt),
    summary,
    description,
    location,
    url,
    organizer,
  });
  return calendar.toString();
}

describe('a calendar file', () => {
  it('says what ical-generator says, read by ical.js', () => {
    fc.assert(
      fc.property(entries, (entry) => {
        expect(read(appointmentFile(entry, MADE).content)).toEqual(read(byLibrary(entry)));
      }),
    );
  });

  // RFC 5545 section 3.1: lines end with CRLF and hold at most 75 octets; no character is cut in two.
  it('has no line of more than 75 octets, and every one of them in whole characters', () => {
    fc.assert(
      fc.property(fc.array(entries, { maxLength: 3 }), (some) => {
        const text = feedFile('Mara; her "book", Überfall', some, MADE);
        expect(text.endsWith('END:VCALENDAR\r\n')).toBe(true);
        for (const line of text.slice(0, -2).split('\r\n')) {
          expect(Buffer.byteLength(line)).toBeLessThanOrEqual(75);
          expect(line).toBe(Buffer.from(line).toString());
          expect(line).not.toMatch(/\p{Cc}/u);
        }
      }),
    );
  });

  // Section 3.3.13: a URI is no TEXT, nothing in it is escaped.
  it('leaves addresses as they are', () => {
    const [entry] = fc.sample(entries, 1);
    const url = 'https://book.example.org/a/x?one=1;2,3';
    const { event } = read(appointmentFile({ ...entry!, url }, MADE).content);
    expect(event.has(asText(['url', {}, 'uri', url]))).toBe(true);
  });
});
