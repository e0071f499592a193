import { Readable } from 'node:stream';
import { describe, expect, it } from '@jest/globals';
import { stringify } from 'csv-stringify/sync';
import fc from 'fast-check';
import { csvRecords, DELIMITERS, type Delimiter, guessDelimiter } from './csv-records.js';
import { decoded, EncodingWatch } from './decode.js';
import type { ImportRecord } from './records.js';

async function read(text: string, delimiter?: Delimiter) {
  const source = await csvRecords(Readable.from([text]), delimiter ?? guessDelimiter(text));
  const records: ImportRecord[] = [];
  for await (const record of source.records) records.push(record);
  return { headings: source.headings, records, cells: records.map(({ cells }) => cells) };
}

async function* inPieces(bytes: Uint8Array, size: number): AsyncGenerator<Uint8Array> {
  for (let i = 0; i < bytes.length; i += size) yield bytes.subarray(i, i + size);
}

/** As a file is read: watched as it is stored, then decoded, then parsed. */
async function readBytes(bytes: Uint8Array, pieceBytes: number) {
  const watch = new EncodingWatch();
  for await (const piece of inPieces(bytes, pieceBytes)) watch.see(piece);
  const encoding = watch.finish();
  if (!encoding) throw new Error('no text');
  let text = '';
  for await (const some of decoded(inPieces(bytes, pieceBytes), encoding)) text += some;
  const source = await csvRecords(decoded(inPieces(bytes, pieceBytes), encoding), guessDelimiter(text));
  const rows: (readonly string[])[] = [];
  for await (const { cells } of source.records) rows.push(cells);
  return { encoding, headings: source.headings, rows };
}

// The examples of RFC 4180, section 2, by their numbers.
describe('RFC 4180', () => {
  const head = 'one,two,three\r\n';
  it.each([
    [
      '1',
      `${head}aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n`,
      [
        ['aaa', 'bbb', 'ccc'],
        ['zzz', 'yyy', 'xxx'],
      ],
    ],
    [
      '2, no break at the end',
      `${head}aaa,bbb,ccc\r\nzzz,yyy,xxx`,
      [
        ['aaa', 'bbb', 'ccc'],
        ['zzz', 'yyy', 'xxx'],
      ],
    ],
    ['4', `${head}aaa,bbb,ccc`, [['aaa', 'bbb', 'ccc']]],
    [
      '5',
      `${head}"aaa","bbb","ccc"\r\nzzz,yyy,xxx`,
      [
        ['aaa', 'bbb', 'ccc'],
        ['zzz', 'yyy', 'xxx'],
      ],
    ],
    [
      '6',
      `${head}"aaa","b\r\nbb","ccc"\r\nzzz,yyy,xxx`,
      [
        ['aaa', 'b\r\nbb', 'ccc'],
        ['zzz', 'yyy', 'xxx'],
      ],
    ],
    ['7', `${head}"aaa","b""bb","ccc"`, [['aaa', 'b"bb', 'ccc']]],
  ])('example %s', async (_, text, rows) => {
    const { headings, cells } = await read(text);
    expect(headings).toEqual(['one', 'two', 'three']);
    expect(cells).toEqual(rows);
  });
});

describe('sheets as people have them', () => {
  it('counts rows as a spreadsheet does', async () => {
    const { records } = await read('a,b\n\n1,2\n,\n3,"x\ny"\n4,5\n');
    expect(records.map(({ row, cells }) => [row, cells[0]])).toEqual([
      [3, '1'],
      [5, '3'],
      [6, '4'],
    ]);
  });

  it('takes marks inside bare cells, and says which row has cells too many', async () => {
    const { records } = await read('name,fringe,nape\nAda,1 3/8",½"\nBo,5,2,cm\nCy\n');
    expect(records[0]?.cells).toEqual(['Ada', '1 3/8"', '½"']);
    expect(records[1]?.problem).toMatch(/4 cells, the heading row 3/);
    expect(records[2]).toEqual({ row: 4, cells: ['Cy'] });
  });

  it('heeds a first line that names the separator', async () => {
    const { headings, cells } = await read('sep=;\r\na;b\r\n1,5;2\r\n');
    expect(headings).toEqual(['a', 'b']);
    expect(cells).toEqual([['1,5', '2']]);
  });

  it.each([
    ['nothing', '', 'IMPORT.EMPTY'],
    ['blanks', ' , \n', 'IMPORT.EMPTY'],
    ['a mark that is never closed', 'a,b\n1,"x\n2,y\n', 'IMPORT.NOT_A_SHEET'],
    ['a mark that swallows the file', `a,b\n1,"x\n${'2,y\n'.repeat(50_000)}`, 'IMPORT.NOT_A_SHEET'],
    ['columns without end', `${'a,'.repeat(500)}b\n1\n`, 'IMPORT.TOO_WIDE'],
  ])('refuses %s', async (_, text, code) => {
    await expect(read(text, ',')).rejects.toMatchObject({ code });
  });

  // The WHATWG Encoding Standard's index of windows-1252: 0x80 is the euro sign, 0xE9 e with acute, 0x9C oe.
  it('reads Windows-1252', async () => {
    const bytes = Uint8Array.from([
      ...Buffer.from('Name;Price\r\nZo'),
      0xe9,
      ...Buffer.from(' C'),
      0x9c,
      ...Buffer.from('ur;'),
      0x80,
      ...Buffer.from('45\r\n'),
    ]);
    expect(await readBytes(bytes, 3)).toEqual({
      encoding: 'windows-1252',
      headings: ['Name', 'Price'],
      rows: [['Zoé Cœur', '€45']],
    });
  });

  it('reads UTF-16 with its mark, and takes bytes without sense for no text', async () => {
    const text = 'Name\tTown\r\nZoé\tŁódź\r\n';
    expect(await readBytes(Buffer.from(`\ufeff${text}`, 'utf16le'), 7)).toMatchObject({
      encoding: 'utf-16le',
      rows: [['Zoé', 'Łódź']],
    });
    const watch = new EncodingWatch();
    watch.see(Uint8Array.from([0x50, 0x4b, 3, 4, 0, 0, 8]));
    expect(watch.finish()).toBeUndefined();
  });

  const cell = fc.oneof(
    { weight: 5, arbitrary: fc.string({ unit: 'grapheme', maxLength: 12 }) },
    fc.constantFrom('1 3/8"', '5,2', 'a;b', 'tab\there', 'line\nbreak', '"', '""', ' padded ', 'Zoé', '|'),
  );
  // What every reader of CSV gives back: the cell itself, but for the two signs that make it end, and our guard.
  const plain = cell.map((text) => text.replace(/[\r\0]/g, ' ').replace(/^'(?=[=+\-@\t])/, ''));

  it('gives back what another library wrote, in every dialect', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.array(fc.tuple(plain, plain, plain), { minLength: 1, maxLength: 8 }),
        fc.constantFrom(...DELIMITERS),
        fc.constantFrom('unix' as const, 'windows' as const),
        fc.boolean(),
        fc.boolean(),
        fc.integer({ min: 1, max: 50 }),
        async (rows, delimiter, record_delimiter, bom, quoted, pieceBytes) => {
          // A row of blanks alone is no row.
          const told = rows.map(([a, b, c], i) => [`row ${i}`, a, b, c]);
          const sheet = [['Number', 'Given name', 'Family name', 'Notes'], ...told];
          const text = stringify(sheet, { delimiter, record_delimiter, bom, quoted });
          const { headings, rows: found } = await readBytes(Buffer.from(text), pieceBytes);
          expect(headings).toEqual(sheet[0]);
          expect(found).toEqual(told);
        },
      ),
      { numRuns: 300 },
    );
  });
});
