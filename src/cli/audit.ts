import 'reflect-metadata';
import { type AuditHead, verifyAudit } from '../identity/index.js';
import { runCommand } from './open.js';

const USAGE = `Usage: node dist/src/cli/audit.js verify [NUMBER:HASH]
Recomputes every hash of the audit trail. NUMBER:HASH is the head that an earlier run printed: with it a trail whose
end was cut off shows as well. Ends with 0 when all is as it was written, with 1 when it is not.`;

function notedHead(text: string | undefined): AuditHead | undefined {
  const [, number, hash] = /^(\d+):([0-9a-f]{64})$/.exec(text ?? '') ?? [];
  return number && hash ? { number: Number(number), hash } : undefined;
}

const [command, head] = process.argv.slice(2);
const noted = notedHead(head);
if (command !== 'verify' || (head !== undefined && !noted)) {
  console.error(USAGE);
  process.exitCode = 2;
} else {
  await runCommand(async ({ reader }) => {
    const verdict = await verifyAudit(reader.manager, noted);
    if (verdict.broken) {
      const { number, what } = verdict.broken;
      console.log(
        `Entry ${number}: ${what} The ${verdict.entries} entries before it are as they were written.`,
      );
      return 1;
    }
    console.log(`All ${verdict.entries} entries are as they were written.`);
    if (verdict.head) console.log(`Head, to be noted elsewhere: ${verdict.head.number}:${verdict.head.hash}`);
    return 0;
  });
}
