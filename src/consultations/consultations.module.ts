import { Module } from '@nestjs/common';
import { SkinTestsModule } from '../skin-tests/index.js';
import { Consultations } from './consultations.js';

@Module({ imports: [SkinTestsModule], providers: [Consultations], exports: [Consultations] })
export class ConsultationsModule {}
