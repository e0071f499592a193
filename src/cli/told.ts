import { resolve } from 'node:path';
import type { Command } from 'commander';
import { DomainError } from '../base/index.js';
import { troubleWith } from '../keep/index.js';
import { readSettings, type Settings } from '../store/index.js';

/** What a command has to say: lines for people, and the same as data for programs. */
export type Told = {
  readonly lines: readonly string[];
  readonly data: Readonly<Record<string, unknown>>;
  /** 1 where what was looked at is not as it should be. */
  readonly exitCode?: number;
};

export type CommonOptions = { readonly json?: boolean; readonly data?: string };

/** The environment with what the command line says of it. */
export function environment({ data }: CommonOptions): NodeJS.ProcessEnv {
  return data === undefined ? process.env : { ...process.env, HALFINCH_DATA: resolve(data) };
}

function sayError(error: unknown, json: boolean): void {
  if (error instanceof DomainError) {
    const { code, message, fields } = error;
    if (json) console.log(JSON.stringify({ ok: false, error: { code, message, fields } }));
    else console.error(message);
    return;
  }
  const { name, message } = error instanceof Error ? error : { name: 'Error', message: String(error) };
  if (json) console.log(JSON.stringify({ ok: false, error: { code: `CLI.${name}`, message, fields: [] } }));
  else console.error(message);
}

/**
 * Makes `work` a command's action: it gets the settings and every option, what it returns is printed as lines or, with
 * --json, as one JSON object; an error is printed in plain words and ends the command with 1.
 */
export function acts(
  command: Command,
  work: (settings: Settings, ...rest: never[]) => Promise<Told>,
): Command {
  return command.action(async (...given: unknown[]) => {
    const self = given.pop() as Command;
    const options = self.optsWithGlobals<CommonOptions>();
    const json = options.json === true;
    try {
      const settings = readSettings(environment(options));
      const values = [...given.slice(0, -1), options];
      const told = await (work as (settings: Settings, ...rest: unknown[]) => Promise<Told>)(
        settings,
        ...values,
      ).catch((error: unknown) => {
        throw troubleWith(error, `"${self.name()}"`, settings.dataDir);
      });
      if (json) console.log(JSON.stringify({ ok: (told.exitCode ?? 0) === 0, ...told.data }));
      else for (const line of told.lines) console.log(line);
      process.exitCode = told.exitCode ?? 0;
    } catch (error) {
      sayError(error, json);
      process.exitCode = 1;
    }
  });
}

/** Adds worked examples under a command's help. */
export function shows(command: Command, ...examples: readonly string[]): Command {
  const list = examples.map((example) => `  $ ${example}`).join('\n');
  return command.addHelpText('after', `\nExample${examples.length > 1 ? 's' : ''}:\n${list}`);
}
