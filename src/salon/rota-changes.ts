import { Injectable } from '@nestjs/common';
import { Between } from 'typeorm';
import { DomainError, validated, weekdayOf } from '../base/index.js';
import { type Actor, Audit } from '../identity/index.js';
import { newId, Reader, UnitOfWork } from '../store/index.js';
import { RotaChangeInput } from './dto.js';
import { RotaChange, Staff } from './entities.js';
import { requireTidyWeek } from './week.js';

/** Single days on which a stylist works other hours than her week says: an extra day, other hours, or none. */
@Injectable()
export class RotaChanges {
  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly audit: Audit,
  ) {}

  /** Of the days `from` to `to`, both included. */
  of(staffId: string, from: string, to: string): Promise<RotaChange[]> {
    return this.reader.manager.find(RotaChange, {
      where: { staffId, onDate: Between(from, to) },
      order: { onDate: 'ASC', startsAt: 'ASC' },
    });
  }

  /**
   * Replaces the day's hours, week and earlier changes alike; `input` is a RotaChangeInput and no stretches make a day
   * off. Bookings stay. Throws INPUT.INVALID, STAFF.NOT_FOUND, and ROTA.INVALID naming the stretch.
   */
  async set(staffId: string, input: unknown, actor: Actor): Promise<void> {
    const { onDate, entries } = await validated(RotaChangeInput, input);
    const weekday = weekdayOf(onDate);
    requireTidyWeek(
      'ROTA.INVALID',
      entries.map(({ startsAt, endsAt }) => ({ weekday, from: startsAt, to: endsAt })),
      'endsAt',
    );
    await this.write(staffId, onDate, actor, 'staff.rota-change', [
      ...(entries.length > 0 ? entries : [{ startsAt: null, endsAt: null }]),
    ]);
  }

  /** Lets the week count again on that day. Throws STAFF.NOT_FOUND. */
  async clear(staffId: string, onDate: string, actor: Actor): Promise<void> {
    await this.write(staffId, onDate, actor, 'staff.rota-change-clear', []);
  }

  private async write(
    staffId: string,
    onDate: string,
    actor: Actor,
    action: string,
    stretches: readonly Pick<RotaChange, 'startsAt' | 'endsAt'>[],
  ): Promise<void> {
    await this.units.run(async (manager) => {
      if (!(await manager.existsBy(Staff, { id: staffId }))) {
        throw DomainError.notFound('STAFF.NOT_FOUND', 'member of staff');
      }
      await manager.delete(RotaChange, { staffId, onDate });
      await manager.insert(
        RotaChange,
        stretches.map(({ startsAt, endsAt }) => ({ id: newId(), staffId, onDate, startsAt, endsAt })),
      );
      await this.audit.record(manager, actor, {
        action,
        subjectKind: 'staff',
        subjectId: staffId,
        details: { onDate },
      });
    });
  }
}
