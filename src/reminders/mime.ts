import type { SendMailOptions } from 'nodemailer';
import type { OutgoingMail } from './sender.js';

/** RFC 2369 and, where the link is https, RFC 8058: one click in the reader's program, no page, no sign-in. */
function listHeaders(url: string | undefined): Record<string, string> {
  if (url === undefined) return {};
  return {
    'List-Unsubscribe': `<${url}>`,
    ...(url.startsWith('https:') && { 'List-Unsubscribe-Post': 'List-Unsubscribe=One-Click' }),
  };
}

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
      ...listHeaders(mail.unsubscribeUrl),
    },
    ...(mail.calendar && {
      attachments: [
        {
          filename: 'appointment.ics',
          content: mail.calendar.content,
          contentType: `text/calendar; charset=utf-8; method=${mail.calendar.method}`,
        },
      ],
    }),
    disableFileAccess: true,
    disableUrlAccess: true,
  };
}
