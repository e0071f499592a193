import { Module } from '@nestjs/common';
import { Privacy } from './privacy.js';
import { Retention } from './retention.js';

@Module({ providers: [Privacy, Retention], exports: [Privacy, Retention] })
export class PrivacyModule {}
