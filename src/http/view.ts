import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import fastifyView from '@fastify/view';
import type { FastifyInstance } from 'fastify';
import Handlebars from 'handlebars';
import { dateInWords } from '../base/index.js';
import { type Action, may, type Principal } from '../identity/index.js';

function partials(root: string): Record<string, string> {
  const names = readdirSync(join(root, 'partials')).filter((name) => name.endsWith('.hbs'));
  return Object.fromEntries(names.map((name) => [name.slice(0, -'.hbs'.length), `partials/${name}`]));
}

/** What the form partials read: values as typed and what is wrong with them, by the field's name. */
type FormView = {
  readonly values?: Readonly<Record<string, unknown>>;
  readonly errors?: Readonly<Record<string, string>>;
};

/** Helpers that templates may use: comparing, forms, and showing dates, times, money as people read them. */
function engine(): typeof Handlebars {
  const handlebars = Handlebars.create();
  handlebars.registerHelper({
    eq: (a: unknown, b: unknown) => a === b,
    or: (...parts: unknown[]) => parts.slice(0, -1).find(Boolean),
    and: (a: unknown, b: unknown) => a && b,
    not: (a: unknown) => !a,
    gt: (a: number, b: number) => a > b,
    concat: (...parts: unknown[]) => parts.slice(0, -1).join(''),
    can: (action: Action, options: { data: { root: { principal: Principal | null } } }) => {
      const { principal } = options.data.root;
      return principal !== null && may(principal.role, action);
    },
    valueOf: (form: FormView | undefined, name: string) => form?.values?.[name] ?? '',
    errorOf: (form: FormView | undefined, name: string) => form?.errors?.[name] ?? '',
    /** `suffix` tells two boxes of one name on one page apart. */
    idOf: (name: string, suffix?: unknown) =>
      `f-${typeof suffix === 'string' ? `${suffix}-` : ''}${name.replace(/[^\w-]/g, '-')}`,
    same: (a: unknown, b: unknown) => String(a ?? '') === String(b ?? ''),
    inWords: (date: string, locale?: unknown) =>
      dateInWords(date, typeof locale === 'string' ? locale : undefined),
    money: (minor: number, currency: string) => moneyIn(currency).format(minor / 100),
  });
  return handlebars;
}

/** Making a formatter takes much longer than using it. */
const formats = new Map<string, Intl.NumberFormat>();

function moneyIn(currency: string): Intl.NumberFormat {
  const known = formats.get(currency) ?? new Intl.NumberFormat('en-GB', { style: 'currency', currency });
  formats.set(currency, known);
  return known;
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
