import type { SendMailOptions } from 'nodemailer';
import type { OutgoingMail } from './sender.js';

/** The mail as nodemailer takes it, alike for every sender. */
export function mimeOptions(mail: OutgoingMail): SendMailOptions {
  return {
    messageId: mail.messageId,
    date: new Date(mail.sentAt),
    from: mail.from,
    to: mail.to,
    subject: mail.subject,
    text: mail.text,
    html: mail.html,
    headers: {
      // RFC 3834 section 5: keeps other people's automatic replies away.
      'Auto-Submitted': 'auto-generated',
      'Content-Language': mail.language,
    },
    disableFileAccess: true,
    disableUrlAccess: true,
  };
}
