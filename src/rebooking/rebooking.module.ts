import { Module } from '@nestjs/common';
import { BookModule } from '../book/index.js';
import { ColourModule } from '../colour/index.js';
import { CutsModule } from '../cuts/index.js';
import { Checkout } from './checkout.js';
import { Contacts } from './contacts.js';
import { DueList } from './due-list.js';
import { FollowColour } from './follow-colour.js';
import { HoldMarks } from './hold-marks.js';
import { NotNows } from './not-now.js';
import { Reshapes } from './reshapes.js';
import { Series } from './series.js';
import { SeriesProposals } from './series-proposals.js';
import { ShapeLinks } from './shape-links.js';
import { TidyPlans } from './tidy-plans.js';
import { Windows } from './windows.js';

const SERVICES = [
  Windows,
  FollowColour,
  HoldMarks,
  TidyPlans,
  Reshapes,
  Contacts,
  NotNows,
  DueList,
  Checkout,
  Series,
  SeriesProposals,
  ShapeLinks,
];

@Module({ imports: [CutsModule, ColourModule, BookModule], providers: SERVICES, exports: SERVICES })
export class RebookingModule {}
