import { Global, Module } from '@nestjs/common';
import { AccountMail } from './account-mail.js';
import { Accounts } from './accounts.js';
import { ApiTokens } from './api-tokens.js';
import { Audit } from './audit.js';
import { AuditTrail } from './audit-trail.js';
import { FirstOwner } from './first-owner.js';
import { PasswordLinks } from './password-links.js';
import { Pins } from './pins.js';
import { Sessions } from './sessions.js';
import { SignIn } from './sign-in.js';

const SERVICES = [
  Audit,
  AuditTrail,
  SignIn,
  Sessions,
  AccountMail,
  PasswordLinks,
  Accounts,
  ApiTokens,
  Pins,
  FirstOwner,
];

@Global()
@Module({ providers: SERVICES, exports: SERVICES })
export class IdentityModule {}
