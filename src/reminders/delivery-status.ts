/** What a mail server tells of a mail that it could not deliver after all. */
export type DeliveryStatus = {
  /** Message-ID of the mail in question, without its brackets. */
  readonly messageId: string;
  /** It has come back for good; false for one that is merely late, or that arrived. */
  readonly failed: boolean;
  /** In the server's words, where it has any. */
  readonly reason: string | undefined;
};

/** One line a field, whatever their lines were broken into. */
const unfolded = (text: string) => text.replace(/\r\n/g, '\n').replace(/\n[ \t]+/g, ' ');

function field(name: string, text: string): string | undefined {
  return new RegExp(`^${name}:[ ]*(.*)$`, 'im').exec(text)?.[1]?.trim();
}

/**
 * Reads a delivery status notification (RFC 3464): a mail with a part message/delivery-status and, after it, the mail
 * in question or its header (RFC 3462). Undefined for any other mail, and for one that does not say which it is about.
 * Of several recipients the first that failed counts; ours have one.
 */
export function readDeliveryStatus(raw: string): DeliveryStatus | undefined {
  const text = unfolded(raw);
  const start = /^content-type:[ ]*message\/delivery-status\b/im.exec(text)?.index;
  if (start === undefined) return undefined;
  const [report = '', ...after] = text.slice(start).split(/^--.*$/m);
  const messageId = /^message-id:[ ]*<([^<>\s]+)>/im.exec(after.join('\n'))?.[1];
  if (messageId === undefined) return undefined;
  const recipients = report.split(/\n{2,}/).filter((group) => field('Action', group) !== undefined);
  const failed = recipients.find((group) => field('Action', group)?.toLowerCase() === 'failed');
  if (failed === undefined)
    return recipients.length === 0 ? undefined : { messageId, failed: false, reason: undefined };
  const told = field('Diagnostic-Code', failed)?.replace(/^[\w-]+;\s*/, '') ?? field('Status', failed);
  return { messageId, failed: true, reason: told };
}
