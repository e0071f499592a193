import { randomBytes } from 'node:crypto';
import { mkdir, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import type { INestApplicationContext } from '@nestjs/common';
import { type AccountLetter, AccountMail } from '../identity/index.js';
import { Salon } from '../salon/index.js';
import { Reader, type Settings } from '../store/index.js';

const WAIT_MS = 20_000;

/**
 * Carries letters about accounts by the mail server of the settings, or into the outbox folder where there is none.
 * The salon is looked up at each letter: it may not be set up yet when the process starts.
 */
export function joinAccountMail(
  app: INestApplicationContext,
  { smtpUrl, outboxDir, publicUrl }: Pick<Settings, 'smtpUrl' | 'outboxDir' | 'publicUrl'>,
): void {
  const reader = app.get(Reader, { strict: false });
  const sender = async () => {
    const salon = await reader.manager.findOne(Salon, { where: {}, order: { id: 'ASC' } });
    return salon && { name: salon.name, address: salon.email };
  };
  const nobody = { name: 'Halfinch', address: `no-reply@${new URL(publicUrl).hostname}` };
  app.get(AccountMail, { strict: false }).join(async ({ to, subject, text }: AccountLetter) => {
    const { createTransport } = await import('nodemailer');
    const letter = { from: (await sender()) ?? nobody, to, subject, text };
    if (smtpUrl) {
      const transport = createTransport({
        url: smtpUrl,
        connectionTimeout: WAIT_MS,
        greetingTimeout: WAIT_MS,
        socketTimeout: WAIT_MS,
      });
      await transport.sendMail(letter);
      return;
    }
    const transport = createTransport({ streamTransport: true, buffer: true, newline: 'windows' });
    const { message } = await transport.sendMail(letter);
    await mkdir(outboxDir, { recursive: true });
    const name = `account-${Date.now()}-${randomBytes(4).toString('hex')}.eml`;
    await writeFile(join(outboxDir, name), message, { mode: 0o600, flag: 'wx' });
  });
}
