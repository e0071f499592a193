import { Module } from '@nestjs/common';
import { SkinTestsModule } from '../skin-tests/index.js';
import { Drafts } from './drafts.js';
import { Drawings } from './drawings.js';
import { Formulas } from './formulas.js';
import { GrowthAdjustedFormulas } from './growth-adjusted.js';
import { GrowthProfiles } from './growth-profiles.js';
import { PastVisits } from './past-visits.js';
import { Visits } from './visits.js';

const SERVICES = [Formulas, GrowthProfiles, GrowthAdjustedFormulas, Visits, PastVisits, Drafts, Drawings];

@Module({ imports: [SkinTestsModule], providers: SERVICES, exports: SERVICES })
export class CutsModule {}
