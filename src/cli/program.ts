import { Command } from 'commander';
import { addAudit } from './commands/audit.js';
import { addBackup } from './commands/backup.js';
import { addKey } from './commands/key.js';
import { addMigrate } from './commands/migrate.js';
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
    .exitOverride();
  addRun(program);
  addMigrate(program);
  addBackup(program);
  addUser(program);
  addKey(program);
  addAudit(program);
  for (const command of everyCommand(program)) command.exitOverride().copyInheritedSettings(program);
  return program;
}

function everyCommand(command: Command): Command[] {
  return command.commands.flatMap((one) => [one, ...everyCommand(one)]);
}
