import { Module } from '@nestjs/common';
import { ColourGate } from './colour-gate.js';
import { OutsideTests } from './outside-tests.js';
import { SafetyRecords } from './safety-records.js';
import { SkinTestEffects } from './skin-test-effects.js';
import { SkinTests } from './skin-tests.js';

@Module({
  providers: [ColourGate, SafetyRecords, SkinTests, SkinTestEffects, OutsideTests],
  exports: [ColourGate, SafetyRecords, SkinTests, SkinTestEffects, OutsideTests],
})
export class SkinTestsModule {}
