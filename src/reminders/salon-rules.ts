import { Injectable } from '@nestjs/common';
import { Transform } from 'class-transformer';
import { ArrayMaxSize, ArrayUnique, IsArray, IsInt, Max, Min, ValidateBy } from 'class-validator';
import { isTime, NumberFromText, validated } from '../base/index.js';
import { type Actor, Audit } from '../identity/index.js';
import { Salon } from '../salon/index.js';
import { newId, Reader, UnitOfWork } from '../store/index.js';
import { MessageRules } from './entities.js';
import { type Rules, rulesOf } from './rules.js';

const HOURS = 'Reminders: give whole hours before the start, from 2 to 720, at most 5, such as 168, 24.';
const time = (name: string) =>
  ValidateBy(
    { name: 'isTime', validator: { validate: isTime } },
    { message: `${name}: write a time of day such as 20:00.` },
  );

/** "168, 24" as a form sends it, for the numbers it names; other things stay as they are. */
const HoursFromText = () =>
  Transform(({ value }) =>
    typeof value === 'string'
      ? value
          .split(/[\s,;]+/)
          .filter(Boolean)
          .map((part) => (/^\d+$/.test(part) ? Number(part) : part))
      : value,
  );

export class MessageRulesInput {
  @HoursFromText()
  @IsArray({ message: HOURS })
  @ArrayMaxSize(5, { message: HOURS })
  @ArrayUnique({ message: HOURS })
  @IsInt({ each: true, message: HOURS })
  @Min(2, { each: true, message: HOURS })
  @Max(720, { each: true, message: HOURS })
  reminderHours: number[];

  @time('Quiet from')
  quietFrom: string;

  @time('Quiet until')
  quietUntil: string;

  @NumberFromText()
  @IsInt({ message: 'Invitations: give a whole number from 0 to 10.' })
  @Min(0, { message: 'Invitations: give a whole number from 0 to 10.' })
  @Max(10, { message: 'Invitations: give a whole number from 0 to 10.' })
  nudgeMost: number;

  @NumberFromText()
  @IsInt({ message: 'Weeks: give a whole number from 1 to 52.' })
  @Min(1, { message: 'Weeks: give a whole number from 1 to 52.' })
  @Max(52, { message: 'Weeks: give a whole number from 1 to 52.' })
  nudgeWeeks: number;
}

/** How a salon wants its messages, kept by its owner. */
@Injectable()
export class SalonRules {
  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly audit: Audit,
  ) {}

  async get(salonId: string): Promise<Rules> {
    const { manager } = this.reader;
    return await rulesOf(manager, await manager.findOneByOrFail(Salon, { id: salonId }));
  }

  /** Holds for what is owed from now on; what is owed already keeps its time. Throws INPUT.INVALID. */
  async save(salonId: string, input: unknown, actor: Actor): Promise<Rules> {
    const { reminderHours, ...rest } = await validated(MessageRulesInput, input);
    const rules = { ...rest, reminderHours: reminderHours.toSorted((a, b) => b - a) };
    await this.units.run(async (manager) => {
      const set = await manager.findOneBy(MessageRules, { salonId });
      await manager.save(manager.create(MessageRules, { ...set, ...rules, id: set?.id ?? newId(), salonId }));
      await this.audit.record(manager, actor, {
        action: 'message-rules.save',
        subjectKind: 'salon',
        subjectId: salonId,
      });
    });
    return await this.get(salonId);
  }
}
