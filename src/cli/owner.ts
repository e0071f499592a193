import 'reflect-metadata';
import { SystemClock } from '../base/index.js';
import {
  Account,
  AccountMail,
  Audit,
  hashPassword,
  PasswordLinks,
  Sessions,
  SignIn,
  SYSTEM,
} from '../identity/index.js';
import { newKeyText, Reader, UnitOfWork } from '../store/index.js';
import { runCommand } from './open.js';

const USAGE = `Usage: node dist/src/cli/owner.js MAIL-ADDRESS ["NAME"]
Prints a link by which the owner with that mail address sets a password; good once, for three days. With NAME, and
only while nobody has an account, makes that owner first. For an owner who lost the authenticator it also takes the
one-time codes off.`;

const [email, name] = process.argv.slice(2);
if (!email?.includes('@')) {
  console.error(USAGE);
  process.exitCode = 2;
} else {
  await runCommand(async (sources, settings) => {
    const units = new UnitOfWork(sources.writer);
    const reader = new Reader(sources.reader);
    const clock = new SystemClock();
    const audit = new Audit(clock);
    const sessions = new Sessions(units, reader, clock, audit);
    const links = new PasswordLinks(units, reader, clock, audit, sessions, new AccountMail(), settings);
    // Nobody knows this password: the link sets the first one.
    const passwordHash = await hashPassword(newKeyText());
    const link = await units.run(async (manager) => {
      const isFirst = (await manager.count(Account)) === 0;
      if (isFirst && name) {
        const signIn = new SignIn(units, reader, clock, audit, sessions);
        await signIn.addAccount(manager, { email, name, role: 'owner', passwordHash });
      }
      const owner = await manager.findOneBy(Account, {
        email: email.toLowerCase(),
        role: 'owner',
        active: true,
      });
      if (!owner) return undefined;
      await manager.update(Account, { id: owner.id }, { totpSecret: null, totpStep: null });
      return await links.make(manager, owner, 'invited', SYSTEM);
    });
    if (!link) {
      console.error('There is no owner with that mail address.');
      return 1;
    }
    console.log(link);
    return 0;
  });
}
