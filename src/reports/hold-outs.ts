import { Injectable, type OnModuleInit } from '@nestjs/common';
import { IsInt, IsOptional, Max, Min } from 'class-validator';
import type { EntityManager } from 'typeorm';
import { Clock, validated } from '../base/index.js';
import { type Actor, Audit } from '../identity/index.js';
import { NudgeExclusions } from '../reminders/index.js';
import { loadForEdit, newId, Reader, UnitOfWork } from '../store/index.js';
import { NudgeHoldOut } from './entities.js';
import { heldOutSql, isHeldOut } from './held-out.js';

const MOST_PERCENT = 50;
const PERCENT_WORDS = `percent must be a whole number from 0 to ${MOST_PERCENT}; 0 ends the test.`;

export class HoldOutInput {
  @IsInt({ message: PERCENT_WORDS })
  @Min(0, { message: PERCENT_WORDS })
  @Max(MOST_PERCENT, { message: PERCENT_WORDS })
  percent: number;

  @IsOptional()
  @IsInt({ message: 'expectedVersion must be the version that was shown.' })
  expectedVersion?: number;
}

const HOLD_OUT = { code: 'HOLD_OUT', name: 'hold-out' };

/** The share of clients the owner leaves without nudges, so that their effect can be told. */
@Injectable()
export class HoldOuts implements OnModuleInit {
  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly audit: Audit,
    private readonly exclusions: NudgeExclusions,
  ) {}

  /** Whoever owes nudges asks the earlier room, which asks here. */
  onModuleInit(): void {
    this.exclusions.register({
      sql: async (manager, salonId, column) => {
        const holdOut = await this.of(salonId, manager);
        return holdOut && holdOut.percent > 0 ? heldOutSql(column, holdOut.percent) : undefined;
      },
      leavesOut: (manager, salonId, clientId) => this.leavesOut(manager, salonId, clientId),
    });
  }

  /** The switch as it stands; undefined while it was never set. */
  async of(salonId: string, manager: EntityManager = this.reader.manager): Promise<NudgeHoldOut | undefined> {
    return (await manager.findOneBy(NudgeHoldOut, { salonId })) ?? undefined;
  }

  private async leavesOut(manager: EntityManager, salonId: string, clientId: string): Promise<boolean> {
    const holdOut = await this.of(salonId, manager);
    return holdOut !== undefined && isHeldOut(clientId, holdOut.percent);
  }

  /** Sets the share; a change starts the count anew. Throws INPUT.INVALID naming `percent`. */
  async set(salonId: string, input: unknown, actor: Actor): Promise<NudgeHoldOut> {
    const { percent, expectedVersion } = await validated(HoldOutInput, input);
    return await this.units.run(async (manager) => {
      const now = await this.of(salonId, manager);
      if (now?.percent === percent) return now;
      const holdOut = now
        ? await loadForEdit(manager, NudgeHoldOut, now.id, HOLD_OUT, expectedVersion)
        : manager.create(NudgeHoldOut, { id: newId(), salonId });
      Object.assign(holdOut, { percent, since: this.clock.now() });
      await manager.save(holdOut);
      await this.audit.record(manager, actor, {
        action: 'report.hold-out',
        subjectKind: 'salon',
        subjectId: salonId,
        details: { percent },
      });
      return holdOut;
    });
  }
}
