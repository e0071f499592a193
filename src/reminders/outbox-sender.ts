import { randomBytes } from 'node:crypto';
import { mkdir, rename, rm, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { mimeOptions } from './mime.js';
import type { Patience } from './patience.js';
import { DeliveryError, type OutgoingMail, Sender } from './sender.js';

/** Name of a mail's file: the part of its Message-ID before the @. */
function fileName(messageId: string): string {
  return `${messageId.replace(/^<|@.*$/g, '').replace(/[^\w-]/g, '_')}.eml`;
}

/**
 * Writes mail into a folder, where it waits for a person: what an installation without a mail server does.
 * A file is there whole or not at all, and the same message written twice is one file.
 */
export class OutboxSender extends Sender {
  readonly name = 'outbox';

  constructor(private readonly folder: string) {
    super();
  }

  async send(mail: OutgoingMail, { signal }: Pick<Patience, 'signal'>): Promise<void> {
    const temporary = join(this.folder, `.${randomBytes(8).toString('hex')}.tmp`);
    try {
      // Loaded with its first use: most of the time nothing is sent.
      const { createTransport } = await import('nodemailer');
      const transport = createTransport({ streamTransport: true, buffer: true, newline: 'windows' });
      const { message } = await transport.sendMail({ ...mimeOptions(mail), signal });
      await mkdir(this.folder, { recursive: true });
      await writeFile(temporary, message, { flag: 'wx', mode: 0o600, flush: true });
      await rename(temporary, join(this.folder, fileName(mail.messageId)));
    } catch (error) {
      await rm(temporary, { force: true }).catch(() => undefined);
      const { message } = error as Error;
      throw new DeliveryError(`The outbox folder could not be written: ${message}`, false, { cause: error });
    }
  }
}
