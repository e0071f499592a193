import { createTransport, type NodemailerError, type SendMailOptions } from 'nodemailer';
import { mimeOptions } from './mime.js';
import type { Patience } from './patience.js';
import { DeliveryError, type OutgoingMail, Sender } from './sender.js';

const CONNECT_MS = 10_000;
/** Patience ends a sending; this only finds connections that nobody is patient with (RFC 5321, 4.5.3.2.7). */
const SILENCE_MS = 600_000;
/** Connections kept open and used again; twice as many mails are in hand (`DispatchPolicy.atOnce`), one waiting for each. */
const CONNECTIONS = 8;
const MAILS_A_CONNECTION = 100;

/**
 * Only an answer about this very mail or its addresses is final; a refused sign-in or greeting is the server's
 * or our set-up's trouble and may pass.
 */
function isPermanent(error: NodemailerError): boolean {
  const { code, responseCode } = error;
  return (
    (code === 'EENVELOPE' || code === 'EMESSAGE') &&
    (responseCode === undefined || (responseCode >= 500 && responseCode < 600))
  );
}

function inWords(error: NodemailerError): string {
  if (error.response) return `The mail server answered: ${error.response}`;
  if (error.code === 'EABORT' || error.code === 'ETIMEDOUT')
    return 'The mail server took too long to answer.';
  return `The mail server could not be reached: ${error.message}`;
}

type PatientOptions = SendMailOptions & { readonly patience: Patience };

/** Hands mail to an SMTP server. */
export class SmtpSender extends Sender {
  readonly name = 'smtp';
  private readonly transport;

  constructor(smtpUrl: string) {
    super();
    this.transport = createTransport({
      url: smtpUrl,
      pool: true,
      maxConnections: CONNECTIONS,
      maxMessages: MAILS_A_CONNECTION,
      connectionTimeout: CONNECT_MS,
      greetingTimeout: CONNECT_MS,
      dnsTimeout: CONNECT_MS,
      socketTimeout: SILENCE_MS,
    });
    this.transport.use('stream', (mail, done) => {
      const { patience } = mail.data as PatientOptions;
      mail.message.processFunc((source) => source.once('end', () => patience.handedOver()));
      done();
    });
  }

  async send(mail: OutgoingMail, patience: Patience): Promise<void> {
    try {
      const patient: PatientOptions = { ...mimeOptions(mail), signal: patience.signal, patience };
      await this.transport.sendMail(patient);
    } catch (error) {
      const problem = error as NodemailerError;
      throw new DeliveryError(inWords(problem), isPermanent(problem), { cause: error });
    }
  }

  override close(): void {
    this.transport.close();
  }
}
