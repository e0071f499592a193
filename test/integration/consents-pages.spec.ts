import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { Consent } from '../../src/clients/index.js';
import { startTestApp, type TestApp } from '../factories/app.js';

// GDPR art. 7 (1) and (3): it must be shown that consent was given, and it is as easy to take back as to give.
describe('what a client wants to be sent, at the desk', () => {
  let test: TestApp;
  let clientId: string;
  beforeEach(async () => {
    test = await startTestApp('2026-06-01T08:00:00Z');
    const added = await test.ask('desk', 'POST', '/api/v1/clients', {
      givenName: 'Ottilie',
      email: 'ottilie@example.org',
    });
    clientId = (added.body as { client: { id: string } }).client.id;
  });
  afterEach(() => test.close());

  const page = async () => String((await test.ask('desk', 'GET', path())).body['text']);
  const path = () => `/clients/${clientId}/messages`;
  const save = (values: Readonly<Record<string, string>>) => test.ask('desk', 'POST', path(), values);
  const records = () =>
    test.reader.manager.find(Consent, { where: { clientId }, order: { at: 'ASC', id: 'ASC' } });

  it('is written down by channel and purpose, with day and source', async () => {
    expect(await page()).toContain('No phone number on record.');
    expect(await page()).not.toContain('since');
    const saved = await save({ 'rebooking.mail': 'yes', 'rebooking.text': 'no', 'appointment.mail': '' });
    expect(saved).toMatchObject({ status: 303, headers: { location: `/clients/${clientId}` } });
    expect(await records()).toMatchObject([
      { channel: 'mail', purpose: 'rebooking', given: true, source: 'desk', at: test.clock.now() },
      { channel: 'text', purpose: 'rebooking', given: false, source: 'desk' },
    ]);
    const text = await page();
    expect(text).toContain('Yes since Mon 1 Jun, told us');
    expect(text).toContain('No since Mon 1 Jun, told us');
  });

  it('stays as it was said where nothing new is said, and the newest answer counts', async () => {
    await save({ 'rebooking.mail': 'yes' });
    test.clock.at += 86_400_000;
    await save({ 'rebooking.mail': 'yes', 'rebooking.text': '' });
    expect(await records()).toHaveLength(1);
    await save({ 'rebooking.mail': 'no' });
    expect((await records()).map(({ given }) => given)).toEqual([true, false]);
    expect(await page()).toContain('No since Tue 2 Jun');
    const { body } = await test.ask('desk', 'GET', `/api/v1/clients/${clientId}/consents`);
    expect(body['consents']).toHaveLength(2);
  });

  it('refuses what is neither yes nor no, and writes down none of it', async () => {
    const refused = await save({ 'rebooking.mail': 'yes', 'rebooking.text': 'perhaps' });
    expect(refused.status).toBe(422);
    expect(refused.body['text']).toContain('answer yes (true) or no (false)');
    expect(await records()).toEqual([]);
  });

  it('is reached from the card', async () => {
    const card = await test.ask('desk', 'GET', `/clients/${clientId}`);
    expect(card.body['text']).toContain(`href="${path()}"`);
  });
});
