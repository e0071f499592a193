import { createHmac, timingSafeEqual } from 'node:crypto';
import { CHANNELS, type Channel, PURPOSES, type Purpose } from '../clients/index.js';
import { type Settings, secretFor } from '../store/index.js';

/** What a link in a message lets its reader end: messages to one client, by one channel, for one purpose. */
export type Unsubscription = {
  readonly clientId: string;
  readonly channel: Channel;
  readonly purpose: Purpose;
};

/** Private links in messages: nobody can make one who has not the key, and each opens one thing only. */
export class Links {
  private readonly key: string;

  constructor(private readonly settings: Pick<Settings, 'publicUrl' | 'dataDir' | 'linkSecret' | 'secret'>) {
    this.key = settings.linkSecret ?? secretFor(settings, 'links');
  }

  unsubscribeUrl(what: Unsubscription): string {
    return this.absolute(`/unsubscribe/${this.token(what)}`);
  }

  /** A path of ours as a message must write it. */
  absolute(path: string): string {
    return `${this.settings.publicUrl}${path}`;
  }

  /** What the token is for; undefined for one that we did not make. */
  unsubscription(token: string): Unsubscription | undefined {
    const [clientId = '', channel = '', purpose = '', mac = ''] = token.split('.');
    if (!CHANNELS.includes(channel as Channel) || !PURPOSES.includes(purpose as Purpose)) return undefined;
    const what = { clientId, channel: channel as Channel, purpose: purpose as Purpose };
    const given = Buffer.from(mac, 'base64url');
    const right = this.mac(what);
    return given.length === right.length && timingSafeEqual(given, right) ? what : undefined;
  }

  private token(what: Unsubscription): string {
    const { clientId, channel, purpose } = what;
    return [clientId, channel, purpose, this.mac(what).toString('base64url')].join('.');
  }

  private mac({ clientId, channel, purpose }: Unsubscription): Buffer {
    return createHmac('sha256', this.key).update(`unsubscribe\n${clientId}\n${channel}\n${purpose}`).digest();
  }
}
