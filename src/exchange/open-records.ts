import { calendarRecords } from './calendar-records.js';
import { csvRecords } from './csv-records.js';
import { decoded } from './decode.js';
import type { ImportRun } from './entities.js';
import type { RecordSource } from './records.js';
import type { UploadFiles } from './upload-files.js';
import { vcardRecords } from './vcard-records.js';

/** The records of a file that was handed in, from its beginning. */
export async function openRecords(
  files: UploadFiles,
  run: Pick<ImportRun, 'id' | 'pieces' | 'format' | 'encoding' | 'delimiter'>,
  salonZone: string,
): Promise<RecordSource> {
  const text = decoded(files.read(run.id, run.pieces), run.encoding);
  if (run.format === 'vcard') return vcardRecords(text);
  if (run.format === 'calendar') return calendarRecords(text, salonZone);
  return await csvRecords(text, run.delimiter);
}

/** The first characters of a file, for guessing its format and separator. */
export async function headOf(
  files: UploadFiles,
  run: Pick<ImportRun, 'id' | 'pieces' | 'encoding'>,
): Promise<string> {
  for await (const piece of decoded(files.read(run.id, Math.min(run.pieces, 1)), run.encoding)) {
    return String(piece).slice(0, 64 * 1024);
  }
  return '';
}

export function guessFormat(head: string): ImportRun['format'] {
  if (/^\s*BEGIN:VCARD\b/i.test(head)) return 'vcard';
  if (/^\s*BEGIN:VCALENDAR\b/i.test(head)) return 'calendar';
  return 'csv';
}
