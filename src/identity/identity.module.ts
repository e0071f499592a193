import { Global, Module } from '@nestjs/common';
import { Audit } from './audit.js';
import { SignIn } from './sign-in.js';

@Global()
@Module({ providers: [Audit, SignIn], exports: [Audit, SignIn] })
export class IdentityModule {}
