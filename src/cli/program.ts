import { Command, CommanderError } from 'commander';
import { addArchive } from './commands/archive.js';
import { addAudit } from './commands/audit.js';
import { addBackup } from './commands/backup.js';
import { addImport } from './commands/import.js';
import { addKey } from './commands/key.js';
import { addMigrate } from './commands/migrate.js';
import { addMove } from './commands/move.js';
import { addRun } from './commands/run.js';
import { addUser } from './commands/user.js';

const AFTER = `
Exit codes:
  0  done, and all is well
  1  it failed, or what was checked is not as it should be; the reason is on standard error (with --json on standard output)
  2  the command line was wrong

The environment configures Halfinch (README, "Running it in earnest"); --data comes before HALFINCH_DATA.
"halfinch COMMAND --help" explains a command with an example.`;

/** The command line of the operator. Every command of it answers --help with an example and takes --json. */
export function operatorProgram(): Command {
  const program = new Command('halfinch')
    .description('Runs and looks after a Halfinch installation.')
    .option('--data <folder>', 'data folder of the installation (else HALFINCH_DATA, else var)')
    .option('--json', 'print the result as one JSON object')
    .showHelpAfterError('(add --help for an explanation)')
    .addHelpText('after', AFTER)
    .configureOutput({
      writeOut: (text) => console.log(text.trimEnd()),
      writeErr: (text) => console.error(text.trimEnd()),
    })
    .exitOverride();
  addRun(program);
  addMigrate(program);
  addMove(program);
  addBackup(program);
  addUser(program);
  addKey(program);
  addImport(program);
  addArchive(program);
  addAudit(program);
  for (const command of everyCommand(program)) command.exitOverride().copyInheritedSettings(program);
  return program;
}

const USAGE_ERROR = 2;

/** Does what the command line says and returns the exit code; `serve` and `worker` return once they run. */
export async function operate(args: readonly string[]): Promise<number> {
  process.exitCode = 0;
  try {
    await operatorProgram().parseAsync(args, { from: 'user' });
    return process.exitCode;
  } catch (error) {
    if (error instanceof CommanderError) {
      // Help ends with 0; whatever else the parser says is about the command line.
      return error.exitCode === 0 ? 0 : USAGE_ERROR;
    }
    console.error(error instanceof Error ? error.message : error);
    return 1;
  }
}

function everyCommand(command: Command): Command[] {
  return command.commands.flatMap((one) => [one, ...everyCommand(one)]);
}
