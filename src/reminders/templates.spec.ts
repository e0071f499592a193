import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { cp } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { MESSAGE_KINDS } from './entities.js';
import type { LetterFacts } from './letter.js';
import { MessageTemplates, messageTemplatesDir, TemplateError } from './templates.js';

const facts: LetterFacts = {
  clientName: 'Maren <b>& Co</b>',
  salonName: "Fern & O'Dell",
  salonAddress: '4 Mill Lane\nExampleton',
  salonPhone: '+442079460100',
  serviceName: 'Full cut',
  stylistName: 'Ines',
  startsAt: Date.parse('2026-06-18T13:30:00Z'),
  endsAt: Date.parse('2026-06-18T14:15:00Z'),
  zone: 'Europe/London',
  locale: 'en-GB',
};

describe('the templates that come with the program', () => {
  const templates = new MessageTemplates(messageTemplatesDir());

  it.each(MESSAGE_KINDS)('say when, what, with whom and whom to call: %s', (kind) => {
    const letter = templates.render(kind, facts);
    for (const words of ['Full cut', '45 minutes', 'Ines', 'Mill Lane', '+44 20 7946 0100']) {
      expect(letter.text).toContain(words);
      expect(letter.html).toContain(words);
    }
    // British summer time is an hour ahead of UTC.
    for (const part of [letter.subject, letter.text, letter.html]) expect(part).toContain('14:30');
    expect(letter.text).toMatch(/Thursday,? 18 June 2026/);
    expect(letter.text).not.toMatch(/\{\{|undefined|null/);
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
    ['an unknown name in a condition', '{{#if allergies}}x{{/if}}', /allergies/],
    ['an unknown helper', '{{shout clientName}}', /shout/],
    ['an unknown part', '{{> detials}}', /detials/],
    ['a tag left open', '{{#if clientName}}x', /en/],
  ])('are refused when read for %s', (_, body, told) => {
    write('appointment-change/en.hbs', `---\nsubject: Changed\n---\n${body}\n`);
    expect(() => new MessageTemplates(folder)).toThrow(TemplateError);
    expect(() => new MessageTemplates(folder)).toThrow(told);
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
