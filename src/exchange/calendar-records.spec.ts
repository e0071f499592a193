import { Readable } from 'node:stream';
import { describe, expect, it } from '@jest/globals';
import { calendarRecords } from './calendar-records.js';

async function read(text: string, zone = 'Europe/London') {
  const { headings, records } = calendarRecords(Readable.from([text.replace(/\n/g, '\r\n')]), zone);
  const events: Record<string, string>[] = [];
  const problems: (string | undefined)[] = [];
  for await (const { cells, problem } of records) {
    problems.push(problem);
    events.push(Object.fromEntries(headings.map((heading, i) => [heading, cells[i] ?? ''])));
  }
  return { events, problems };
}

const event = (lines: string) =>
  `BEGIN:VCALENDAR\nVERSION:2.0\nPRODID:-//x//x//EN\nBEGIN:VEVENT\n${lines}\nEND:VEVENT\nEND:VCALENDAR\n`;

describe('events', () => {
  // RFC 5545, section 3.6.1 and section 4, first example.
  it('reads those of RFC 5545, in UTC', async () => {
    const { events } = await read(
      event(
        'UID:19970901T130000Z-123401@example.com\nDTSTAMP:19970901T130000Z\nDTSTART:19970903T163000Z\nDTEND:19970903T190000Z\nSUMMARY:Annual Employee Review\nCLASS:PRIVATE\nCATEGORIES:BUSINESS,HUMAN RESOURCES',
      ),
    );
    expect(events).toEqual([
      expect.objectContaining({
        UID: '19970901T130000Z-123401@example.com',
        // London is an hour ahead of UTC in September.
        Start: '1997-09-03 17:30',
        End: '1997-09-03 20:00',
        Summary: 'Annual Employee Review',
      }),
    ]);
  });

  // RFC 5545, section 4, second example: its own description of New York's time.
  it('reads a time in a zone that the file describes itself', async () => {
    const { events } = await read(`BEGIN:VCALENDAR
PRODID:-//RDU Software//NONSGML HandCal//EN
VERSION:2.0
BEGIN:VTIMEZONE
TZID:Our own New York
BEGIN:STANDARD
DTSTART:19981025T020000
TZOFFSETFROM:-0400
TZOFFSETTO:-0500
TZNAME:EST
END:STANDARD
BEGIN:DAYLIGHT
DTSTART:19990404T020000
TZOFFSETFROM:-0500
TZOFFSETTO:-0400
TZNAME:EDT
END:DAYLIGHT
END:VTIMEZONE
BEGIN:VEVENT
DTSTAMP:19980309T231000Z
UID:guid-1.example.com
ORGANIZER:mailto:mrbig@example.com
ATTENDEE;RSVP=TRUE;ROLE=REQ-PARTICIPANT;CUTYPE=GROUP:
 mailto:employee-A@example.com
DESCRIPTION:Project XYZ Review Meeting
CATEGORIES:MEETING
CLASS:PUBLIC
CREATED:19980309T130000Z
SUMMARY:XYZ Project Review
DTSTART;TZID=Our own New York:19990312T083000
DTEND;TZID=Our own New York:19990312T093000
LOCATION:1CP Conference Room 4350
END:VEVENT
END:VCALENDAR
`);
    expect(events).toEqual([
      expect.objectContaining({
        Start: '1999-03-12 13:30',
        End: '1999-03-12 14:30',
        'Guest mail': 'employee-A@example.com',
        Categories: 'MEETING',
        Location: '1CP Conference Room 4350',
      }),
    ]);
  });

  it.each([
    [
      'by the salon’s clock',
      'DTSTART:20260612T143000\nDURATION:PT45M',
      '2026-06-12 14:30',
      '2026-06-12 15:15',
    ],
    ['in a named zone', 'DTSTART;TZID=America/New_York:20260612T083000', '2026-06-12 13:30', ''],
  ])('reads a time %s', async (_, lines, start, end) => {
    const { events } = await read(event(`UID:a\n${lines}\nSUMMARY:Ada Lark`));
    expect(events).toEqual([expect.objectContaining({ Start: start, End: end, Summary: 'Ada Lark' })]);
  });

  it.each([
    // RFC 5545, section 3.6.1, fourth and third examples.
    ['DTSTART;VALUE=DATE:19971102\nRRULE:FREQ=YEARLY', /repeats/],
    ['DTSTART;VALUE=DATE:20070628\nDTEND;VALUE=DATE:20070709', /no time/],
    ['DTSTART:20260612T143000Z\nSTATUS:CANCELLED', /cancelled/],
    ['DTSTART;TZID=Nowhere/Land:20260612T143000', /time zone "Nowhere\/Land"/],
    ['SUMMARY:x', /no start/],
  ])('says of %j why it cannot be taken', async (lines, why) => {
    const { problems } = await read(event(`UID:a\nDTSTAMP:19970901T130000Z\n${lines}`));
    expect(problems).toEqual([expect.stringMatching(why)]);
  });
});
