import { type Command, Option } from 'commander';
import { DomainError } from '../../base/index.js';
import { Account, ROLES, SYSTEM } from '../../identity/index.js';
import { identityOver, withSources } from '../open.js';
import { acts, shows, type Told } from '../told.js';

type NewUser = { readonly email: string; readonly name: string; readonly role: string };

export function addUser(program: Command): void {
  const user = program.command('user').description('let people in');
  const add = user
    .command('add')
    .description(
      'Adds an account and prints a link by which its person sets the password; good once, for three days.',
    )
    .requiredOption('--email <address>', 'mail address to sign in with')
    .requiredOption('--name <name>', 'name as colleagues know it')
    .addOption(new Option('--role <role>', 'what the person may do').choices(ROLES).makeOptionMandatory());
  acts(add, async (settings, { email, name, role }: NewUser): Promise<Told> => {
    return await withSources(settings, async (sources) => {
      const { account, link } = await identityOver(sources, settings).accounts.invite(
        { email, name, role },
        SYSTEM,
      );
      return { lines: [link], data: { account, link } };
    });
  });
  shows(add, 'halfinch user add --email mara@example.org --name "Mara Quillfeather" --role stylist');

  const link = user
    .command('link')
    .description(
      'Prints a link by which somebody who lost the password sets a new one; good once, for three days. Takes the ' +
        'one-time codes off the account too, for whoever lost the authenticator.',
    )
    .argument('<email>', 'mail address of the account');
  acts(link, async (settings, email: string): Promise<Told> => {
    return await withSources(settings, async (sources) => {
      const { units, links, audit } = identityOver(sources, settings);
      const made = await units.run(async (manager) => {
        const account = await manager.findOneBy(Account, { email: email.trim().toLowerCase(), active: true });
        if (!account) return undefined;
        if (account.totpSecret !== null) {
          await manager.update(Account, { id: account.id }, { totpSecret: null, totpStep: null });
          await audit.record(manager, SYSTEM, {
            action: 'account.codes-off',
            subjectKind: 'account',
            subjectId: account.id,
            details: { by: 'operator' },
          });
        }
        return await links.make(manager, account, 'invited', SYSTEM);
      });
      if (made === undefined) {
        throw new DomainError(
          'not-found',
          'ACCOUNT.NOT_FOUND',
          'There is no open account with that mail address.',
        );
      }
      return { lines: [made], data: { link: made } };
    });
  });
  shows(link, 'halfinch user link mara@example.org');
}
