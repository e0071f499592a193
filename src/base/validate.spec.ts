import 'reflect-metadata';
import { describe, expect, it } from '@jest/globals';
import { plainToInstance, Type } from 'class-transformer';
import {
  IsArray,
  IsIn,
  IsInt,
  IsOptional,
  IsString,
  Max,
  MaxLength,
  Min,
  ValidateIf,
  ValidateNested,
  validate,
} from 'class-validator';
import fc from 'fast-check';
import { Temporal } from 'temporal-polyfill';
import { isSurelyValid } from './surely-valid.js';
import { isDate } from './time.js';
import { validated } from './validate.js';

class Step {
  @IsIn(['active', 'processing'], { message: 'Activity: choose one.' })
  activity: string;

  @IsOptional()
  @Max(90, { message: 'Minutes: at most 90.' })
  @IsInt({ message: 'Minutes: write a whole number.' })
  minutes?: number | null;
}

abstract class Named {
  @MaxLength(5, { message: 'Name: at most 5 characters.' })
  @IsString({ message: 'Name: write it as text.' })
  name: string;
}

class OddService extends Named {
  @IsArray({ message: 'Skills: give a list.' })
  @IsString({ each: true, message: 'Skills: write each as text.' })
  skills: string[];

  @ValidateIf(({ name }: OddService) => name === 'cut')
  @Min(1, { message: 'Price: at least 1.' })
  price?: number;

  @IsOptional()
  @ValidateNested({ message: 'Steps: give objects.' })
  @Type(() => Step)
  steps?: Step[] | null;

  @IsOptional()
  @IsInt({ message: 'Uses: write a whole number.', validateIf: (_, value) => value !== 'none' })
  uses?: number | 'none';
}

const OPTIONS = {
  whitelist: true,
  forbidNonWhitelisted: true,
  forbidUnknownValues: true,
  stopAtFirstError: true,
} as const;

const orOther = <T>(value: fc.Arbitrary<T>) =>
  fc.oneof({ weight: 14, arbitrary: value }, fc.constantFrom(null, undefined, '', 7.5, true, [], {}));
const step = fc.record(
  {
    activity: orOther(fc.constantFrom('active', 'processing')),
    minutes: orOther(fc.integer({ min: 80, max: 91 })),
  },
  { requiredKeys: ['activity'] },
);
const service = fc.record(
  {
    name: orOther(fc.constantFrom('cut', 'tidy', 'reshape')),
    skills: orOther(fc.array(orOther(fc.constantFrom('fade', 'bob')), { maxLength: 2 })),
    price: orOther(fc.integer({ min: 0, max: 3 })),
    steps: orOther(fc.array(orOther(step), { maxLength: 2 })),
    uses: orOther(fc.constantFrom(1, 'none', 'many')),
  },
  { requiredKeys: ['name', 'skills'] },
);

describe('validated', () => {
  it('takes without class-validator exactly what class-validator takes', async () => {
    let taken = 0;
    await fc.assert(
      fc.asyncProperty(service, fc.nat(9), async (known, other) => {
        const input = other === 0 ? { ...known, other } : known;
        const errors = await validate(plainToInstance(OddService, input), OPTIONS);
        const ours = isSurelyValid(plainToInstance(OddService, input));
        taken += ours ? 1 : 0;
        expect(ours).toBe(errors.length === 0);
      }),
      { numRuns: 2000, seed: 4180 },
    );
    expect(taken).toBeGreaterThan(400);
  });

  it('names the field of a nested object', async () => {
    const input = { name: 'tidy', skills: [], steps: [{ activity: 'active', minutes: 91 }] };
    await expect(validated(OddService, input)).rejects.toMatchObject({
      code: 'INPUT.INVALID',
      fields: [{ field: 'steps.0.minutes', message: 'Minutes: at most 90.' }],
    });
  });

  it('refuses what a class does not know, and a class that says nothing', async () => {
    const input = { name: 'tidy', skills: [], other: 1 };
    await expect(validated(OddService, input)).rejects.toMatchObject({ fields: [{ field: 'other' }] });
    await expect(validated(class {}, {})).rejects.toMatchObject({ code: 'INPUT.INVALID' });
  });
});

/* Temporal (ECMA-262) is the outside judge of which days there are. */
describe('isDate', () => {
  const real = (text: string) => {
    try {
      return Temporal.PlainDate.from(text, { overflow: 'reject' }).toString() === text;
    } catch {
      return false;
    }
  };

  it('knows every day of leap years, of others, and of the turns of centuries', () => {
    const two = (part: number) => String(part).padStart(2, '0');
    for (const year of ['0000', '1900', '1999', '2000', '2024', '2100', '9999']) {
      for (let month = 0; month <= 13; month += 1) {
        for (let day = 0; day <= 32; day += 1) {
          const text = `${year}-${two(month)}-${two(day)}`;
          expect([text, isDate(text)]).toEqual([text, real(text)]);
        }
      }
    }
  });

  it('takes no other way of writing a day', () => {
    for (const text of ['2026-6-01', '2026-06-01T00:00', ' 2026-06-01', '20260601', '', 20260601, null]) {
      expect(isDate(text)).toBe(false);
    }
  });
});
