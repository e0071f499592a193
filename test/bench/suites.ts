import { benchSlots } from './book.js';
import { benchEngine } from './engine.js';
import { benchGroup } from './group.js';
import { benchIdle } from './idle.js';
import { benchImports } from './imports.js';
import { benchMessages } from './messages.js';
import { benchPage } from './page.js';
import { benchReports } from './reports.js';
import type { BenchOptions, BenchRow } from './row.js';
import { benchSearch } from './search.js';
import { benchWholeBook } from './whole-book.js';

export type Store = 'SQLite' | 'PostgreSQL';

type Suite = {
  readonly run: (options: BenchOptions) => Promise<readonly BenchRow[]>;
  /** Where it is run; none for what no store has a part in, or what brings its own. */
  readonly stores: readonly (Store | '')[];
  /** Left out unless it is asked for: it takes long and holds nothing to a limit. */
  readonly onlyWhenAsked?: true;
};

const BOTH = ['SQLite', 'PostgreSQL'] as const;

/** What is measured, in this order. */
export const SUITES: Readonly<Record<string, Suite>> = {
  engine: { run: benchEngine, stores: [''] },
  'whole-book': { run: benchWholeBook, stores: BOTH },
  book: { run: benchSlots, stores: BOTH },
  search: { run: benchSearch, stores: BOTH },
  page: { run: benchPage, stores: BOTH },
  idle: { run: benchIdle, stores: BOTH },
  messages: { run: ({ quick }) => benchMessages(quick ? 200 : undefined), stores: BOTH },
  imports: { run: benchImports, stores: BOTH },
  reports: { run: benchReports, stores: ['SQLite'] },
  group: { run: () => benchGroup(), stores: [''], onlyWhenAsked: true },
};
