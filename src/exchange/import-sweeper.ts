import { Injectable, Logger, type OnApplicationBootstrap, type OnApplicationShutdown } from '@nestjs/common';
import { LessThan } from 'typeorm';
import { Clock } from '../base/index.js';
import { Reader, UnitOfWork } from '../store/index.js';
import { ImportRun } from './entities.js';
import { ImportFiles } from './import-files.js';

/** Files and reports hold what was handed in: after so long they go. */
const KEPT_MS = 30 * 86_400_000;
const EVERY_MS = 6 * 60 * 60 * 1000;

/** Lets go of imports that are older than a month, and of files that a crash left without an import. */
@Injectable()
export class ImportSweeper implements OnApplicationBootstrap, OnApplicationShutdown {
  private readonly log = new Logger('imports');
  private timer: NodeJS.Timeout | undefined;
  private sweeping: Promise<void> = Promise.resolve();

  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly uploads: ImportFiles,
  ) {}

  onApplicationBootstrap(): void {
    this.begin();
    this.timer = setInterval(() => this.begin(), EVERY_MS);
    this.timer.unref();
  }

  async onApplicationShutdown(): Promise<void> {
    clearInterval(this.timer);
    await this.sweeping;
  }

  /** One sweep; returns when it is done. What was imported stays. */
  async sweep(): Promise<void> {
    const now = this.clock.now();
    const old = await this.reader.manager.findBy(ImportRun, { madeAt: LessThan(now - KEPT_MS) });
    for (const { id, pieces, leasedUntil } of old) {
      if ((leasedUntil ?? 0) > now) continue;
      await this.units.run((manager) => manager.delete(ImportRun, { id }));
      await this.uploads.files.remove(id, pieces);
    }
    const known = await this.reader.manager.find(ImportRun, { select: { id: true } });
    await this.uploads.files.removeStrays(new Set(known.map(({ id }) => id)));
  }

  private begin(): void {
    this.sweeping = this.sweep().catch((error: unknown) =>
      this.log.error(`Imports could not be swept: ${String(error)}`),
    );
  }
}
