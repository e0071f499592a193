import { createHmac } from 'node:crypto';
import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { MailReports } from '../../src/reminders/mail-reports.js';
import { SmtpSender } from '../../src/reminders/smtp-sender.js';
import {
  bookAt,
  dispatcherOf,
  type MailServer,
  messagesOf,
  openDesk,
  openMailServer,
  type TestDesk,
  testSettings,
} from '../factories/reminders.js';

describe('mails that come back', () => {
  let desk: TestDesk;
  let server: MailServer;
  beforeEach(async () => {
    desk = await openDesk();
    server = await openMailServer();
  });
  afterEach(async () => {
    await server.close();
    await desk.close();
  });

  const SECRET = 'what the mailbox and we know';
  const reportsOf = (secret: string | undefined = SECRET) =>
    new MailReports(
      desk.units,
      desk.reader,
      desk.clock,
      testSettings(secret ? { MAIL_REPORT_SECRET: secret } : {}),
    );
  /** HMAC-SHA256 by RFC 2104, written out anew here. */
  const signed = (values: readonly string[], secret = SECRET) => {
    const t = Math.floor(desk.clock.now() / 1000);
    const mac = createHmac('sha256', secret).update([`${t}`, ...values].join('\n'));
    return `t=${t},v1=${mac.digest('hex')}`;
  };
  const sent = async () => {
    const { id } = await bookAt(desk, '2026-06-18T13:30:00Z');
    const sender = new SmtpSender(server.url);
    await dispatcherOf(desk, sender).deliverDue();
    sender.close();
    const [message] = await messagesOf(desk, id);
    return { message: message!, again: async () => (await messagesOf(desk, id))[0]! };
  };
  /** After RFC 3464, appendix E.1 (from memory), with a real mail of ours returned. */
  const returned = (raw: Buffer, fields = 'Action: failed\r\nStatus: 5.1.1') =>
    [
      'From: Mail Delivery Subsystem <MAILER-DAEMON@example.net>',
      'Message-Id: <199407072116.RAA14128@example.net>',
      'Subject: Returned mail',
      'MIME-Version: 1.0',
      'Content-Type: multipart/report; report-type=delivery-status;',
      '      boundary="RAA14128.773615765/EXAMPLE"',
      '',
      '--RAA14128.773615765/EXAMPLE',
      '',
      'The following address had delivery problems.',
      '--RAA14128.773615765/EXAMPLE',
      'content-type: message/delivery-status',
      '',
      'Reporting-MTA: dns; example.net',
      '',
      'Original-Recipient: rfc822;ottilie@example.org',
      'Final-Recipient: rfc822;ottilie@example.org',
      fields,
      'Diagnostic-Code: smtp; 550 5.1.1',
      '  No such mailbox',
      '',
      '--RAA14128.773615765/EXAMPLE',
      'content-type: message/rfc822',
      '',
      raw.toString('latin1'),
      '--RAA14128.773615765/EXAMPLE--',
      '',
    ].join('\r\n');

  it('make their message the desk’s, with the server’s words', async () => {
    const { message, again } = await sent();
    const mail = returned(server.accepted[0]!.raw);
    for (let told = 0; told < 2; told += 1) await reportsOf().returned({ mail }, signed([mail]));
    expect(await again()).toMatchObject({
      id: message.id,
      state: 'failed',
      reason: 'undelivered',
      lastError: 'The mail came back: 550 5.1.1 No such mailbox',
    });
  });

  it('are told by a provider too; one that is late or arrived is no failure', async () => {
    const { message, again } = await sent();
    const late = returned(server.accepted[0]!.raw, 'Action: delayed\r\nStatus: 4.4.1');
    await reportsOf().returned({ mail: late }, signed([late]));
    const id = `<${message.id}@book.example.org>`;
    await reportsOf().report({ id, status: 'delivered' }, signed([id, 'delivered']));
    expect(await again()).toMatchObject({ state: 'sent' });
    await reportsOf().report({ id, status: 'bounced' }, signed([id, 'bounced']));
    expect(await again()).toMatchObject({ state: 'failed', lastError: 'The mail came back.' });
  });

  it('are believed only with the secret, and only about mails of ours', async () => {
    const { message, again } = await sent();
    const id = `${message.id}@book.example.org`;
    const bounce = { id, status: 'bounced' };
    const wrong = [undefined, 'x', signed([id, 'delivered']), signed([id, 'bounced'], 'another secret')];
    for (const header of wrong) {
      await expect(reportsOf().report(bounce, header)).rejects.toMatchObject({ code: 'MAIL.SIGNATURE' });
    }
    await expect(reportsOf('').report(bounce, signed([id, 'bounced']))).rejects.toMatchObject({
      code: 'MAIL.SIGNATURE',
    });
    for (const other of [`${message.id}@elsewhere.example.org`, `${desk.salon.id}@book.example.org`]) {
      await expect(
        reportsOf().report({ ...bounce, id: other }, signed([other, 'bounced'])),
      ).rejects.toMatchObject({ code: 'MESSAGE.NOT_FOUND' });
    }
    for (const mail of ['Hello', returned(Buffer.from('Subject: without a Message-ID'))]) {
      await expect(reportsOf().returned({ mail }, signed([mail]))).rejects.toMatchObject({
        code: 'MAIL.NO_REPORT',
      });
    }
    expect(await again()).toMatchObject({ state: 'sent' });
  });
});
