export { ACCESS, type Action, may } from './access.js';
export { type Actor, SYSTEM } from './actor.js';
export { Audit, type AuditFact } from './audit.js';
export { Account, AuditEntry, ROLES, type Role, Session } from './entities.js';
export { IdentityModule } from './identity.module.js';
export { hashPassword } from './passwords.js';
export { type NewAccount, type Principal, requirePassword, SignIn } from './sign-in.js';
