import { type Command, InvalidArgumentError } from 'commander';
import { type AuditHead, verifyAudit } from '../../identity/index.js';
import { withSources } from '../open.js';
import { acts, shows, type Told } from '../told.js';

function notedHead(text: string): AuditHead {
  const [, number, hash] = /^(\d+):([0-9a-f]{64})$/.exec(text) ?? [];
  if (!number || !hash)
    throw new InvalidArgumentError('It must look like 1203:3f0c… as an earlier run printed it.');
  return { number: Number(number), hash };
}

export function addAudit(program: Command): void {
  const audit = program.command('audit').description('look after the audit trail');
  const verify = audit
    .command('verify')
    .description(
      'Recomputes every hash of the audit trail. With the head that an earlier run printed, a trail whose end was cut ' +
        'off shows as well. Ends with 1 when an entry is not as it was written.',
    )
    .argument('[head]', 'NUMBER:HASH that was noted', notedHead);
  acts(verify, async (settings, noted: AuditHead | undefined): Promise<Told> => {
    return await withSources(settings, async ({ reader }) => {
      const verdict = await verifyAudit(reader.manager, noted);
      const { entries, head, broken } = verdict;
      if (broken) {
        const line = `Entry ${broken.number}: ${broken.what} The ${entries} entries before it are as they were written.`;
        return { lines: [line], data: verdict, exitCode: 1 };
      }
      const lines = [`All ${entries} entries are as they were written.`];
      if (head) lines.push(`Head, to be noted elsewhere: ${head.number}:${head.hash}`);
      return { lines, data: verdict };
    });
  });
  shows(verify, 'halfinch audit verify');
}
