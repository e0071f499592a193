import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { cp } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { MESSAGE_KINDS } from './entities.js';
import { KINDS } from './kinds.js';
import type { LetterFacts } from './letter.js';
import { MessageTemplates, messageTemplatesDir } from './templates.js';
import { TemplateError } from './written-template.js';

const facts: LetterFacts = {
  clientName: 'Maren <b>& Co</b>',
  salonName: "Fern & O'Dell",
  salonAddress: '4 Mill Lane\nExampleton',
  salonPhone: '+442079460100',
  serviceName: 'Full cut',
  stylistName: 'Ines',
  startsAt: Date.parse('2026-06-18T13:30:00Z'),
  endsAt: Date.parse('2026-06-18T14:15:00Z'),
  testBy: Date.parse('2026-06-16T13:30:00Z'),
  offerUntil: Date.parse('2026-06-17T19:00:00Z'),
  dueOn: '2026-06-18',
  latestOn: '2026-06-26',
  zone: 'Europe/London',
  locale: 'en-GB',
};

describe('the templates that come with the program', () => {
  const templates = new MessageTemplates(messageTemplatesDir());

  const aboutAppointments = MESSAGE_KINDS.filter((kind) => KINDS[kind].names.includes('serviceName'));

  it.each(aboutAppointments)('say when, what, with whom and whom to call: %s', (kind) => {
    const letter = templates.render(kind, facts);
    for (const words of ['Full cut', '45 minutes', 'Ines', 'Mill Lane', '+44 20 7946 0100']) {
      expect(letter.text).toContain(words);
      expect(letter.html).toContain(words);
    }
    // British summer time is an hour ahead of UTC.
    for (const part of [letter.text, letter.html]) expect(part).toContain('14:30');
    expect(letter.text).toMatch(/Thursday,? 18 June 2026/);
    expect(letter.text).not.toMatch(/\{\{|undefined|null/);
  });

  it.each(MESSAGE_KINDS)('have a short form for texts that says whom to call: %s', (kind) => {
    const letter = templates.render(kind, { ...facts, salonName: 'Fern' }, 'text');
    expect(letter.text).toContain('+44 20 7946 0100');
    expect(letter.text).toMatch(/^Fern: /);
    expect(letter).toMatchObject({ subject: '', html: '', template: expect.stringMatching(/^file:/) });
    expect(letter.text).not.toMatch(/\{\{|undefined|null|\n/);
  });

  it.each(MESSAGE_KINDS.filter((kind) => KINDS[kind].link))('carry their private link: %s', (kind) => {
    const linked = { ...facts, linkUrl: 'https://book.example.org/a/0123456789' };
    const mail = templates.render(kind, linked);
    expect(mail.text).toContain(': https://book.example.org/a/0123456789\n');
    expect(mail.html).toContain('href="https://book.example.org/a/0123456789"');
    const text = templates.render(kind, linked, 'text').text;
    expect(text.includes(linked.linkUrl)).toBe(kind !== 'skin-test-needed');
    for (const words of [mail.text, mail.html, text]) expect(words).not.toMatch(/\{\{|undefined/);
    expect(mail.text).not.toMatch(/\n{3}/);
  });

  it('say until when a skin test can be applied, and when a shape is due', () => {
    expect(templates.render('skin-test-needed', facts).text).toMatch(/by Tuesday,? 16 June 2026, 14:30\./);
    const due = templates.render('shape-due', facts);
    expect(due.text).toMatch(/around Thursday,? 18 June 2026, and by Friday,? 26 June 2026/);
    expect(due.html).toMatch(/Thursday,? 18 June 2026/);
  });

  it('offer an end of such messages where there is a link', () => {
    const unsubscribeUrl = 'https://book.example.org/unsubscribe/abc';
    const letter = templates.render('shape-due', { ...facts, unsubscribeUrl });
    expect(letter.text).toContain(`No more messages of this kind: ${unsubscribeUrl}\n`);
    expect(letter.html).toContain(`href="${unsubscribeUrl}"`);
    expect(templates.render('shape-due', facts).text).not.toContain('No more');
  });

  it('escapes names in HTML and leaves them alone in text and subject', () => {
    const letter = templates.render('appointment-reminder', facts);
    expect(letter.text).toContain('Hello Maren <b>& Co</b>,');
    expect(letter.subject).toContain("Fern & O'Dell");
    expect(letter.html).toContain('Maren &lt;b&gt;&amp; Co&lt;/b&gt;');
    expect(letter.html).not.toContain('<b>');
  });

  it('write date and time as the salon’s region does', () => {
    const letter = templates.render('appointment-reminder', {
      ...facts,
      zone: 'America/New_York',
      locale: 'en-US',
    });
    expect(letter.text).toMatch(/Thursday, June 18, 2026, 9:30\sAM/);
  });

  it('fall back to English, month and all, where a language has no template', () => {
    const letter = templates.render('appointment-reminder', { ...facts, locale: 'fr-FR' });
    expect(letter.language).toBe('en');
    expect(letter.text).toMatch(/Thursday.*June/);
    expect(letter.html).toContain('lang="en"');
  });

  it('lend a salon’s own words in another language the shared parts they have in English', () => {
    const own = {
      number: 1,
      language: 'de',
      subject: 'Ihr Termin',
      body: 'Guten Tag,\n\n{{> details}}\n\n{{date}}',
    };
    const letter = templates.render('appointment-reminder', { ...facts, language: 'de-AT' }, 'mail', [own]);
    expect(letter).toMatchObject({ language: 'de', template: 'salon:1' });
    expect(letter.text).toContain('Donnerstag, 18. Juni 2026');
    expect(letter.text).toContain('Full cut');
    expect(letter.html).toContain('<html lang="de">');
  });

  it('keep the subject on one line and within 200 characters', () => {
    const letter = templates.render('appointment-reminder', {
      ...facts,
      salonName: `Long\r\nBcc: someone@example.org ${'x'.repeat(250)}`,
    });
    expect(letter.subject).not.toMatch(/[\r\n]/);
    expect(letter.subject).toHaveLength(200);
  });
});

describe('templates of a folder', () => {
  let folder: string;
  const write = (name: string, content: string) => {
    mkdirSync(join(folder, name, '..'), { recursive: true });
    writeFileSync(join(folder, name), content);
  };

  beforeEach(async () => {
    folder = mkdtempSync(join(tmpdir(), 'halfinch-templates-'));
    await cp(messageTemplatesDir(), folder, { recursive: true });
  });
  afterEach(() => rmSync(folder, { recursive: true }));

  it('are used in the salon’s language where it has them', () => {
    write(
      'appointment-reminder/de.hbs',
      '---\nsubject: Termin bei {{salonName}}\n---\nAm {{date}} um {{time}}.\n',
    );
    write('appointment-reminder/de.html.hbs', '{{#> frame}}<p>Am {{date}}</p>{{/frame}}');
    const letter = new MessageTemplates(folder).render('appointment-reminder', { ...facts, locale: 'de-AT' });
    expect(letter.text).toBe('Am Donnerstag, 18. Juni 2026 um 14:30.\n');
    expect(letter.html).toContain('<html lang="de">');
  });

  it.each([
    ['an unknown name', 'Hello {{clientNmae}}', /clientNmae/],
    ['a name of another kind', 'Due {{dueDate}}', /dueDate/],
    ['an unknown name in a condition', '{{#if allergies}}x{{/if}}', /allergies/],
    ['an unknown helper', '{{shout clientName}}', /shout/],
    ['an unknown part', '{{> detials}}', /detials/],
    ['a tag left open', '{{#if clientName}}x', /en/],
  ])('are refused when read for %s', (_, body, told) => {
    write('appointment-change/en.hbs', `---\nsubject: Changed\n---\n${body}\n`);
    expect(() => new MessageTemplates(folder)).toThrow(TemplateError);
    expect(() => new MessageTemplates(folder)).toThrow(told);
  });

  it('follow the client’s language before the salon’s', () => {
    write('shape-due/de.hbs', '---\nsubject: Schnitt\n---\nUm den {{dueDate}}.\n');
    write('shape-due/de.html.hbs', '<p>Um den {{dueDate}}</p>');
    const letter = new MessageTemplates(folder).render('shape-due', { ...facts, language: 'de' });
    expect(letter).toMatchObject({ language: 'de', text: 'Um den Donnerstag, 18. Juni 2026.\n' });
  });

  it('are named by their content, so that a change shows with the messages sent', () => {
    const before = new MessageTemplates(folder).render('shape-due', facts).template;
    write('shape-due/en.hbs', '---\nsubject: Due\n---\nNew words.\n');
    const after = new MessageTemplates(folder).render('shape-due', facts).template;
    expect(new MessageTemplates(folder).render('shape-due', facts).template).toBe(after);
    expect(after).not.toBe(before);
  });

  it('are refused without front matter, without HTML and without English', () => {
    write('appointment-change/en.hbs', 'Hello\n');
    expect(() => new MessageTemplates(folder)).toThrow(/en\.hbs must begin with/);
    write('appointment-change/en.hbs', '---\nsubject: Changed\n---\nHello\n');
    rmSync(join(folder, 'appointment-change/en.html.hbs'));
    expect(() => new MessageTemplates(folder)).toThrow(/en\.html\.hbs is missing/);
    rmSync(join(folder, 'appointment-change'), { recursive: true });
    expect(() => new MessageTemplates(folder)).toThrow(/lacks en\.hbs/);
  });
});

describe('a salon’s own words', () => {
  const templates = new MessageTemplates(messageTemplatesDir());
  const own = (body: string, subject = 'Soon', number = 3) => [{ number, language: 'en', subject, body }];

  it('come before the program’s, in text and in HTML, escaped there', () => {
    const body = 'Dear {{clientName}},\n\nsee {{unsubscribeUrl}}';
    const unsubscribeUrl = 'https://book.example.org/unsubscribe/a.b-c';
    const letter = templates.render('appointment-reminder', { ...facts, unsubscribeUrl }, 'mail', own(body));
    expect(letter).toMatchObject({ template: 'salon:3', subject: 'Soon', language: 'en' });
    expect(letter.text).toBe(`Dear Maren <b>& Co</b>,\n\nsee ${unsubscribeUrl}`);
    expect(letter.html).toContain('Dear Maren &lt;b&gt;&amp; Co&lt;/b&gt;,</p>');
    expect(letter.html).toContain(`<a href="${unsubscribeUrl}">${unsubscribeUrl}</a>`);
    expect(letter.html).toContain('<html lang="en">');
  });

  it.each([
    ['{{clientNmae}}', /clientNmae/],
    ['{{#if healthNotes}}x{{/if}}', /healthNotes/],
    ['{{dueDate}}', /dueDate/],
    ['{{constructor}}', /constructor/],
    ['{{#each clientName}}x{{/each}}', /each/],
    ['{{lookup this "constructor"}}', /lookup/],
    ['{{> nonesuch}}', /nonesuch/],
    ['{{#if clientName}}', /The text/],
  ])('are refused at once for %s', (body, told) => {
    const [words] = own(body);
    expect(() => templates.check('appointment-reminder', 'mail', words!)).toThrow(TemplateError);
    expect(() => templates.check('appointment-reminder', 'mail', words!)).toThrow(told);
  });
});
