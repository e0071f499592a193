import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { parseHTML } from 'linkedom';

/** What says something to the one who reads a page, by itself. */
const SPEAKING = 'h1, h2, h3, legend, label, th, dt, button, summary, option, nav a, a.button';

function texts(folder: string, ending: string): string[] {
  return readdirSync(folder, { encoding: 'utf8', recursive: true })
    .filter((name) => name.endsWith(ending) && !name.endsWith('.spec.ts'))
    .map((name) => readFileSync(join(folder, name), 'utf8'));
}

const found = (sources: readonly string[], pattern: RegExp): string[] =>
  sources.flatMap((source) => [...source.matchAll(pattern)].map((match) => match[1] ?? ''));

/** Labels of a template, with a dot where a value stands. */
function labelsOf(template: string): string[] {
  const plain = template
    .replace(/\{\{!--.*?--\}\}/gs, '')
    .replace(/\{\{[#/^>]?[^}]*\}\}\}?/g, (tag) => (/^\{\{([#/>^]|else)/.test(tag) ? ' ' : '·'));
  const { document } = parseHTML(`<body>${plain}</body>`);
  return [...document.querySelectorAll(SPEAKING)].map((one) => {
    for (const inner of one.querySelectorAll('input, select, textarea, output')) inner.remove();
    return (one.textContent ?? '').replace(/\s+/g, ' ').trim();
  });
}

/**
 * Every label, state, command, option and route of the product by what it is, sorted: one list to be read against the
 * words of the trade, and a change of which nobody can miss.
 */
export function namesOf(routes: readonly string[]): string {
  const code = texts('src', '.ts');
  const lists = code.flatMap((source) =>
    [...source.matchAll(/export const ([A-Z_]+) = \[([^\]]*)\] as const/g)].map(
      ([, name, values]) => `${name}: ${found([values ?? ''], /'([^']+)'/g).join(', ')}`,
    ),
  );
  const sections: Readonly<Record<string, readonly string[]>> = {
    'Actions (src/identity/access.ts)': found(texts('src/identity', 'access.ts'), /^ {2}'([a-z.-]+)':/gm),
    'Settings (environment)': found(code, /\benv(?:, |\[)'([A-Z_]+)'/g),
    'Commands (command line)': found(texts('src/cli', '.ts'), /\.command\('([^']+)'/g),
    'Options (command line)': found(texts('src/cli', '.ts'), /\.(?:requiredO|o)ption\(\s*'([^']+)'/g),
    'States and kinds': lists,
    'Codes of refusals': found(code, /'([A-Z][A-Z_]+\.[A-Z_]+)'/g),
    Routes: routes,
    'Headings of pages': found(code, /heading: '([^']+)'/g),
    'Labels of pages': ['templates/pages', 'templates/partials'].flatMap((folder) =>
      texts(folder, '.hbs').flatMap(labelsOf),
    ),
  };
  return Object.entries(sections)
    .map(([title, names]) => {
      const lines = [...new Set(names)].filter((name) => /[\p{L}\d]/u.test(name)).sort();
      return `${title}\n${lines.map((line) => `    ${line}\n`).join('')}`;
    })
    .join('\n');
}
