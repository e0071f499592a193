export { ACCESS, type Action, may } from './access.js';
export { type Actor, SYSTEM } from './actor.js';
export { Audit, type AuditFact } from './audit.js';
export { type AuditHead, type AuditVerdict, verifyAudit } from './audit-chain.js';
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
export { IdentityModule } from './identity.module.js';
export { hashPassword } from './passwords.js';
export { type NewAccount, type Principal, requirePassword, SignIn } from './sign-in.js';
