import { describe, expect, it } from '@jest/globals';
import { Webhook } from 'standardwebhooks';
import { newSecret, signatures } from './signature.js';

describe('signatures', () => {
  it('are those of the test vector of the Standard Webhooks reference libraries', () => {
    // standard-webhooks/standard-webhooks, libraries/javascript, test "sign function works".
    const made = signatures(
      ['whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw'],
      'msg_p5jXN8AQM9LWM0D4loKWxJek',
      1_614_265_330,
      '{"test": 2432232314}',
    );
    expect(made).toBe('v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=');
  });

  it('pass the reference library with any secret of ours, old or new, and no other', () => {
    const [before, now, other] = [newSecret(), newSecret(), newSecret()];
    const [id, body] = ['0190', JSON.stringify({ id: 'Zoë' })];
    const seconds = Math.floor(Date.now() / 1000);
    const headers = {
      'webhook-id': id,
      'webhook-timestamp': `${seconds}`,
      'webhook-signature': signatures([now, before], id, seconds, body),
    };
    for (const secret of [before, now]) {
      expect(new Webhook(secret).verify(body, headers)).toEqual({ id: 'Zoë' });
    }
    expect(() => new Webhook(other).verify(body, headers)).toThrow('No matching signature found');
    expect(() => new Webhook(now).verify(`${body} `, headers)).toThrow('No matching signature found');
    // 24 to 64 bytes of secret (Standard Webhooks, "Signature scheme").
    expect(Buffer.from(now.slice('whsec_'.length), 'base64')).toHaveLength(32);
  });
});
