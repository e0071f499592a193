import { Controller, Get } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import { Needs } from '../http/index.js';
import { Salons } from '../salon/index.js';
import { ApiPart } from './openapi.js';

@ApiPart('salon')
@Needs('salon.read')
@Controller('api/v1/salon')
export class SalonController {
  constructor(private readonly salons: Salons) {}

  @Get()
  @ApiOperation({ summary: 'The salon, its staff and services' })
  async show() {
    const salon = await this.salons.only();
    const [staff, services, hours] = await Promise.all([
      this.salons.staff(salon.id),
      this.salons.services(salon.id),
      this.salons.hours(salon.id),
    ]);
    return { salon, staff, services, hours };
  }
}
