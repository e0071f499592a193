import { Module } from '@nestjs/common';
import { ClientsModule } from '../clients/index.js';
import { Privacy } from './privacy.js';
import { Retention } from './retention.js';

@Module({ imports: [ClientsModule], providers: [Privacy, Retention], exports: [Privacy, Retention] })
export class PrivacyModule {}
