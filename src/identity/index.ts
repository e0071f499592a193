export { ACCESS, ACTIONS, type Action, may, permits, SCOPES } from './access.js';
export { type AccountLetter, AccountMail } from './account-mail.js';
export { type AccountLine, Accounts } from './accounts.js';
export { type Actor, asClient, SYSTEM } from './actor.js';
export { ApiTokens } from './api-tokens.js';
export { Audit, type AuditFact } from './audit.js';
export { type AuditHead, type AuditVerdict, verifyAudit } from './audit-chain.js';
export { changedSince, lastAuditNumber } from './audit-changes.js';
export { type AuditLine, AuditTrail } from './audit-trail.js';
export {
  AuditQuery,
  CodesOnInput,
  FirstOwnerInput,
  ForgottenPasswordInput,
  NewAccountInput,
  NewPasswordInput,
  NewTokenInput,
  PasswordChangeInput,
  PinInput,
  PinSignInInput,
  PresentPasswordInput,
} from './dto.js';
export {
  Account,
  ApiToken,
  AuditEntry,
  PasswordLink,
  ROLES,
  type Role,
  Session,
  type SessionKind,
} from './entities.js';
export { FirstOwner } from './first-owner.js';
export { IdentityModule } from './identity.module.js';
export { codeUri, newCodeSecret } from './one-time-code.js';
export { PasswordLinks } from './password-links.js';
export { hashPassword } from './passwords.js';
export { Pins } from './pins.js';
export { type SessionLine, Sessions, type StartedSession } from './sessions.js';
export { type NewAccount, type Principal, SignIn } from './sign-in.js';
