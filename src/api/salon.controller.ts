import { Controller, Get } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import { Needs, Who } from '../http/index.js';
import type { Principal } from '../identity/index.js';
import { Salons } from '../salon/index.js';
import { ApiPart } from './openapi.js';

@ApiPart('salon')
@Needs('salon.read')
@Controller('api/v1')
export class SalonController {
  constructor(private readonly salons: Salons) {}

  @Get('salons')
  @ApiOperation({ summary: 'The salons open to you; one is named by its id in the header halfinch-salon' })
  async all(@Who() who: Principal) {
    const salons = await this.salons.openTo(who);
    return { salons: salons.map(({ id, name, zone }) => ({ id, name, zone })) };
  }

  @Get('salon')
  @ApiOperation({ summary: 'The salon, its staff and services' })
  async show(@Who() who: Principal) {
    const salon = await this.salons.of(who);
    const [staff, services, hours] = await Promise.all([
      this.salons.staff(salon.id),
      this.salons.services(salon.id),
      this.salons.hours(salon.id),
    ]);
    return { salon, staff, services, hours };
  }
}
