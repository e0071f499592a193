import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { Patience } from '../../src/reminders/patience.js';
import { isPublicAddress } from '../../src/reminders/public-address.js';
import { TextGateway } from '../../src/reminders/text-gateway.js';
import { newId, readSettings } from '../../src/store/index.js';
import { openGateway, type TestGateway } from '../factories/reminders-gateway.js';

const PHONE = '+442079460123';

let gateway: TestGateway;
beforeEach(async () => {
  gateway = await openGateway();
});
afterEach(() => gateway.close());

const gatewayOf = (changes: NodeJS.ProcessEnv = {}) => {
  const { textGateway } = readSettings({
    TEXT_GATEWAY_URL: gateway.url,
    TEXT_GATEWAY_SECRET: 'shared with the gateway',
    TEXT_GATEWAY_ALLOW_PRIVATE: '1',
    ...changes,
  });
  return new TextGateway(textGateway!, () => 0);
};

describe('the gateway’s address', () => {
  it.each([
    ['127.0.0.1', false],
    ['10.1.2.3', false],
    ['172.31.255.255', false],
    ['172.32.0.1', true],
    ['192.168.0.1', false],
    ['169.254.169.254', false],
    ['100.64.0.1', false],
    ['0.0.0.0', false],
    ['224.0.0.1', false],
    ['8.8.8.8', true],
    ['::1', false],
    ['::', false],
    ['fe80::1', false],
    ['fd00::1', false],
    ['::ffff:127.0.0.1', false],
    ['::ffff:10.0.0.1', false],
    ['64:ff9b::7f00:1', false],
    ['2001:4860:4860::8888', true],
    ['localhost', false],
  ])('%s is public: %s (RFC 6890 and the IANA registries)', (address, isPublic) => {
    expect(isPublicAddress(address)).toBe(isPublic);
  });

  const unasked = { TEXT_GATEWAY_ALLOW_PRIVATE: '' };

  it.each([
    'http://127.0.0.1/x',
    'http://[::1]/x',
    'http://2130706433/x',
    'http://0x7f.1/x',
    'http://10.0.0.8/x',
  ])('that is private is refused at the start: %s', (url) => {
    expect(() => gatewayOf({ ...unasked, TEXT_GATEWAY_URL: url })).toThrow(/private address/);
  });

  it('whose name leads to a private one is not connected to', async () => {
    const { port } = new URL(gateway.url);
    const sender = gatewayOf({ ...unasked, TEXT_GATEWAY_URL: `http://localhost:${port}/texts` });
    const text = { id: newId(), to: PHONE, from: 'Salon', text: 'Hello' };
    await expect(sender.send(text, new Patience(2_000, 0))).rejects.toMatchObject({
      permanent: false,
      message: 'The text gateway could not be reached: localhost has no public address.',
    });
    expect(gateway.requests).toEqual([]);
  });
});

describe('settings of the gateway', () => {
  it('let the request be written as the gateway wants it', async () => {
    const body = '{"messages":[{"destination":"{{to}}","content":"{{text}}","ref":"{{id}}"}]}';
    const sender = gatewayOf({ TEXT_GATEWAY_METHOD: 'PUT', TEXT_GATEWAY_BODY: body });
    const text = 'He said "yes",\nthen\\left {{to}}';
    await sender.send({ id: 'a1', to: PHONE, from: 'Salon', text }, new Patience(2_000, 0));
    expect(gateway.requests[0]?.method).toBe('PUT');
    expect(JSON.parse(gateway.requests[0]!.body)).toEqual({
      messages: [{ destination: PHONE, content: text, ref: 'a1' }],
    });
  });

  it.each([
    [{ TEXT_GATEWAY_URL: 'ftp://example.org' }, /TEXT_GATEWAY_URL/],
    [{ TEXT_GATEWAY_SECRET: '' }, /TEXT_GATEWAY_SECRET/],
    [{ TEXT_GATEWAY_SECRET: 'short' }, /TEXT_GATEWAY_SECRET/],
    [{ TEXT_GATEWAY_METHOD: 'GET' }, /TEXT_GATEWAY_METHOD/],
    [{ TEXT_GATEWAY_BODY: 'to={{to}}' }, /TEXT_GATEWAY_BODY/],
    [{ TEXT_GATEWAY_BODY: '{"a":"{{nonesuch}}"}' }, /TEXT_GATEWAY_BODY/],
  ])('that cannot work are refused by name: %j', (changes, told) => {
    expect(() => gatewayOf(changes)).toThrow(told);
  });
});
