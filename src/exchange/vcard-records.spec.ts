import { Readable } from 'node:stream';
import { describe, expect, it } from '@jest/globals';
import { vcardRecords } from './vcard-records.js';

async function read(text: string) {
  const { headings, records } = vcardRecords(Readable.from([text.replace(/\n/g, '\r\n')]));
  const cards: Record<string, string>[] = [];
  const problems: (string | undefined)[] = [];
  for await (const { cells, problem } of records) {
    problems.push(problem);
    cards.push(Object.fromEntries(headings.map((heading, i) => [heading, cells[i] ?? ''])));
  }
  return { cards, problems };
}

// RFC 6350, section 8.
const SIMON = `BEGIN:VCARD
VERSION:4.0
FN:Simon Perreault
N:Perreault;Simon;;;ing. jr,M.Sc.
BDAY:--0203
ANNIVERSARY:20090808T1430-0500
GENDER:M
LANG;PREF=1:fr
LANG;PREF=2:en
ORG;TYPE=work:Viagenie
ADR;TYPE=work:;Suite D2-630;2875 Laurier;
 Quebec;QC;G1V 2M2;Canada
TEL;VALUE=uri;TYPE="work,voice";PREF=1:tel:+1-418-656-9254;ext=102
TEL;VALUE=uri;TYPE="work,cell,voice,video,text":tel:+1-418-262-6501
EMAIL;TYPE=work:simon.perreault@viagenie.ca
GEO;TYPE=work:geo:46.772673,-71.282945
KEY;TYPE=work;VALUE=uri:
 http://www.viagenie.ca/simon.perreault/simon.asc
TZ:-0500
URL;TYPE=home:http://nomis80.org
END:VCARD
`;

// RFC 2426, section 7.
const DAWSON = `BEGIN:vCard
VERSION:3.0
FN:Frank Dawson
ORG:Lotus Development Corporation
ADR;TYPE=WORK,POSTAL,PARCEL:;;6544 Battleford Drive
 ;Raleigh;NC;27613-3502;U.S.A.
TEL;TYPE=VOICE,MSG,WORK:+1-919-676-9515
TEL;TYPE=FAX,WORK:+1-919-676-9564
EMAIL;TYPE=INTERNET,PREF:Frank_Dawson@Lotus.com
EMAIL;TYPE=INTERNET:fdawson@earthlink.net
URL:http://home.earthlink.net/~fdawson
END:vCard
`;
const HOWES = `BEGIN:vCard
VERSION:3.0
FN:Tim Howes
ORG:Netscape Communications Corp.
ADR;TYPE=WORK:;;501 E. Middlefield Rd.;Mountain View;
 CA; 94043;U.S.A.
TEL;TYPE=VOICE,MSG,WORK:+1-415-937-3419
TEL;TYPE=FAX,WORK:+1-415-528-4164
EMAIL;TYPE=INTERNET:howes@netscape.com
END:vCard
`;

describe('cards', () => {
  it('reads the example of RFC 6350', async () => {
    const { cards } = await read(SIMON);
    expect(cards).toEqual([
      expect.objectContaining({
        'Given name': 'Simon',
        'Family name': 'Perreault',
        Phone: '+1-418-656-9254 ext. 102',
        Mail: 'simon.perreault@viagenie.ca',
        // Its birthday has no year.
        Birthday: '',
        Language: 'fr',
      }),
    ]);
  });

  it('reads the examples of RFC 2426', async () => {
    const { cards } = await read(DAWSON + HOWES);
    expect(cards).toEqual([
      expect.objectContaining({
        'Full name': 'Frank Dawson',
        Phone: '+1-919-676-9515',
        Mail: 'Frank_Dawson@Lotus.com',
      }),
      expect.objectContaining({
        'Full name': 'Tim Howes',
        Phone: '+1-415-937-3419',
        Mail: 'howes@netscape.com',
      }),
    ]);
  });

  it.each([
    // RFC 2426, section 3.1.5
    ['BDAY:1996-04-15', '1996-04-15'],
    ['BDAY;VALUE=date-time:1953-10-15T23:10:00Z', '1953-10-15'],
    ['BDAY:19960415', '1996-04-15'],
  ])('reads %s', async (line, birthday) => {
    const { cards } = await read(`BEGIN:VCARD\nVERSION:3.0\nFN:A\n${line}\nEND:VCARD\n`);
    expect(cards[0]?.['Birthday']).toBe(birthday);
  });

  it('leaves pictures out, joins folded lines, prefers the mobile phone', async () => {
    const { cards } = await read(
      `BEGIN:VCARD\nVERSION:3.0\nN:Lark;Ada;Maria;;\nFN:Ada Maria Lark\nitem1.TEL;TYPE=HOME:020 7946 0101\nTEL;TYPE=CELL:07700 900101\nPHOTO;ENCODING=b;TYPE=JPEG:${'A'.repeat(200_000)}\n AAAA\nNOTE:likes it short\\, and\n  quiet\nUID:abc\nEND:VCARD\n`,
    );
    expect(cards).toEqual([
      expect.objectContaining({
        UID: 'abc',
        'Given name': 'Ada Maria',
        'Family name': 'Lark',
        Phone: '07700 900101',
        Notes: 'likes it short, and quiet',
      }),
    ]);
  });

  it('says of a card it cannot take what to do, and reads the next', async () => {
    const { cards, problems } = await read(
      'BEGIN:VCARD\nVERSION:2.1\nN:A;B\nEND:VCARD\nBEGIN:VCARD\nVERSION:4.0\nFN:Bo\nEND:VCARD\n',
    );
    expect(problems[0]).toMatch(/version 2\.1.*3\.0 or 4\.0/);
    expect(cards[1]?.['Full name']).toBe('Bo');
    await expect(read('BEGIN:VCARD\nVERSION:4.0\nFN:Bo\n')).rejects.toMatchObject({
      code: 'IMPORT.NOT_A_CARD',
    });
  });
});
