import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import fastifyView from '@fastify/view';
import type { FastifyInstance } from 'fastify';
import Handlebars from 'handlebars';
import { dateInWords, timeIn } from '../base/index.js';

function partials(root: string): Record<string, string> {
  const names = readdirSync(join(root, 'partials')).filter((name) => name.endsWith('.hbs'));
  return Object.fromEntries(names.map((name) => [name.slice(0, -'.hbs'.length), `partials/${name}`]));
}

/** Helpers that templates may use: comparing, and showing dates, times, money as people read them. */
function engine(): typeof Handlebars {
  const handlebars = Handlebars.create();
  handlebars.registerHelper({
    eq: (a: unknown, b: unknown) => a === b,
    or: (a: unknown, b: unknown) => a || b,
    date: (date: string, locale?: unknown) =>
      dateInWords(date, typeof locale === 'string' ? locale : undefined),
    time: (instant: number, zone: string) => timeIn(zone, instant),
    money: (minor: number, currency: string) =>
      new Intl.NumberFormat('en-GB', { style: 'currency', currency }).format(minor / 100),
  });
  return handlebars;
}

/** Templates under `root`: pages/ inside partials/layout.hbs. Kept compiled unless `fresh`. */
export async function registerViews(fastify: FastifyInstance, root: string, fresh: boolean): Promise<void> {
  await fastify.register(fastifyView, {
    engine: { handlebars: engine() },
    root,
    layout: 'partials/layout.hbs',
    production: !fresh,
    options: { partials: partials(root) },
  });
}
