import type { Readable } from 'node:stream';
import ICAL from 'ical.js';
import { dateIn, instantAt, isZoneName, timeIn } from '../base/index.js';
import { blocksOf } from './content-lines.js';
import type { ImportRecord, RecordSource } from './records.js';

const HEADINGS = [
  'UID',
  'Start',
  'End',
  'Client',
  'Summary',
  'Guest name',
  'Guest mail',
  'Categories',
  'Location',
  'Description',
];

/** What an event says, or why it cannot be taken. */
class Unreadable extends Error {}

const two = (value: number) => String(value).padStart(2, '0');

/** An instant from what DTSTART or DTEND say: in UTC, in a named zone, or by the salon's own clock (RFC 5545, 3.3.5). */
function instantOf(
  property: ICAL.Property,
  zones: ReadonlyMap<string, ICAL.Timezone>,
  salonZone: string,
): number {
  const time: unknown = property.getFirstValue();
  if (!(time instanceof ICAL.Time)) throw new Unreadable('Its start or end cannot be read.');
  if (time.isDate) throw new Unreadable('It takes whole days and has no time. Give it a time of day.');
  const date = `${String(time.year).padStart(4, '0')}-${two(time.month)}-${two(time.day)}`;
  const clock = `${two(time.hour)}:${two(time.minute)}`;
  if (time.zone === ICAL.Timezone.utcTimezone || property.toICALString().trim().endsWith('Z')) {
    return Date.parse(`${date}T${clock}:00Z`);
  }
  const tzid: unknown = property.getParameter('tzid');
  if (typeof tzid !== 'string' || tzid === '') return instantAt(salonZone, date, clock);
  if (isZoneName(tzid)) return instantAt(tzid, date, clock);
  const zone = zones.get(tzid);
  if (!zone) throw new Unreadable(`Its time zone "${tzid}" is not known, nor told in the file.`);
  const here = time.clone();
  here.zone = zone;
  return here.toUnixTime() * 1000;
}

function cellsOf(
  event: ICAL.Component,
  zones: ReadonlyMap<string, ICAL.Timezone>,
  salonZone: string,
): string[] {
  const text = (name: string) => String(event.getFirstPropertyValue(name) ?? '').trim();
  if (text('status').toUpperCase() === 'CANCELLED') {
    throw new Unreadable('It was cancelled. Nothing needs to be done.');
  }
  if (event.hasProperty('rrule') || event.hasProperty('rdate')) {
    throw new Unreadable('It repeats. Export the calendar as single events, or book it as a series.');
  }
  const written = (at: number) => `${dateIn(salonZone, at)} ${timeIn(salonZone, at)}`;
  const start = event.getFirstProperty('dtstart');
  if (!start) throw new Unreadable('It has no start.');
  const startsAt = instantOf(start, zones, salonZone);
  const end = event.getFirstProperty('dtend');
  const length = event.getFirstPropertyValue('duration');
  const endsAt = end
    ? instantOf(end, zones, salonZone)
    : length instanceof ICAL.Duration
      ? startsAt + length.toSeconds() * 1000
      : undefined;
  const guest = event.getFirstProperty('attendee');
  const guestName = String(guest?.getParameter('cn') ?? '');
  return [
    text('uid'),
    written(startsAt),
    endsAt === undefined ? '' : written(endsAt),
    // A salon's calendar has the client in its title, where it has not invited her.
    guestName || text('summary'),
    text('summary'),
    guestName,
    String(guest?.getFirstValue() ?? '').replace(/^mailto:/i, ''),
    text('categories'),
    text('location'),
    text('description'),
  ];
}

/**
 * The events of a calendar file (RFC 5545), streamed; times by the salon's clock. Events that repeat, take whole days,
 * were cancelled or lie in an unknown time zone say so.
 */
export function calendarRecords(text: Readable, salonZone: string): RecordSource {
  async function* records(): AsyncGenerator<ImportRecord> {
    const zones = new Map<string, ICAL.Timezone>();
    let row = 0;
    for await (const { name, text: block } of blocksOf(text, ['VTIMEZONE', 'VEVENT'])) {
      if (name === 'VTIMEZONE') {
        const zone = zoneOf(block);
        if (zone) zones.set(zone.tzid, zone);
        continue;
      }
      row += 1;
      yield { row, ...eventRecord(block, zones, salonZone) };
    }
  }
  return { headings: HEADINGS, records: records() };
}

function componentOf(block: string): ICAL.Component {
  const calendar = new ICAL.Component(ICAL.parse(`BEGIN:VCALENDAR\r\n${block}END:VCALENDAR\r\n`) as string);
  const [inner] = calendar.getAllSubcomponents();
  if (!inner) throw new Unreadable('It cannot be read.');
  return inner;
}

function zoneOf(block: string): ICAL.Timezone | undefined {
  try {
    return new ICAL.Timezone(componentOf(block));
  } catch {
    return undefined;
  }
}

function eventRecord(
  block: string,
  zones: ReadonlyMap<string, ICAL.Timezone>,
  salonZone: string,
): Omit<ImportRecord, 'row'> {
  try {
    return { cells: cellsOf(componentOf(block), zones, salonZone) };
  } catch (error) {
    const why = error instanceof Unreadable ? error.message : 'It cannot be read. Export it once more.';
    return { cells: HEADINGS.map(() => ''), problem: why };
  }
}
