import { Injectable } from '@nestjs/common';
import { Type } from 'class-transformer';
import { IsDefined, ValidateNested } from 'class-validator';
import { Clock, DomainError } from '../base/index.js';
import { FirstOwner, FirstOwnerInput, SYSTEM } from '../identity/index.js';
import { SalonInput } from './dto.js';
import type { Salon } from './entities.js';
import { Salons } from './salons.js';

/** The first account, and the salon where there is none yet. */
export class SetUpInput extends FirstOwnerInput {
  @IsDefined({ message: 'Salon: say what it is called and where it is.' })
  @ValidateNested()
  @Type(() => SalonInput)
  salon: SalonInput;
}

/** A fresh installation gets its owner and its salon, once. */
@Injectable()
export class SetUp {
  constructor(
    private readonly firstOwner: FirstOwner,
    private readonly salons: Salons,
    private readonly clock: Clock,
  ) {}

  /**
   * The owner is checked first and made last, so that what fails in between can be sent again. Returns the salon. Throws
   * what `FirstOwner.make` does, and what `Salons.add` does with fields named "salon.<field>".
   */
  async make(owner: unknown, salon: unknown): Promise<Salon> {
    const now = this.clock.now();
    await this.firstOwner.check(owner, now);
    const made = await this.requireSalon(salon);
    await this.firstOwner.make(owner, now);
    return made;
  }

  private async requireSalon(input: unknown): Promise<Salon> {
    try {
      return await this.salons.only();
    } catch (error) {
      if (!(error instanceof DomainError) || error.code !== 'SALON.NOT_FOUND') throw error;
    }
    try {
      return await this.salons.add(input, SYSTEM);
    } catch (error) {
      if (!(error instanceof DomainError)) throw error;
      const fields = error.fields.map(({ field, message }) => ({ field: `salon.${field}`, message }));
      throw new DomainError(error.kind, error.code, error.message, fields, error.details);
    }
  }
}
