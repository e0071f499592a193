import { Controller, Get, Param } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import { HasVersion, Needs, Who } from '../http/index.js';
import type { Principal } from '../identity/index.js';
import { Resource, Resources, Salons, Service, Staff } from '../salon/index.js';
import { ApiPart } from './openapi.js';
import { requireId } from './params.js';

@ApiPart('salon')
@Needs('salon.read')
@Controller('api/v1')
export class SalonController {
  constructor(
    private readonly salons: Salons,
    private readonly resources: Resources,
  ) {}

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

  @Get('staff/:id')
  @HasVersion('staff', Staff)
  @ApiOperation({ summary: 'One member of staff' })
  async member(@Who() who: Principal, @Param('id') id: string) {
    const salon = await this.salons.of(who);
    return { staff: await this.salons.member(salon.id, requireId(id, 'id')) };
  }

  @Get('services/:id')
  @HasVersion('service', Service)
  @ApiOperation({ summary: 'One service' })
  async service(@Who() who: Principal, @Param('id') id: string) {
    const salon = await this.salons.of(who);
    return { service: await this.salons.service(salon.id, requireId(id, 'id')) };
  }

  @Get('resources/:id')
  @HasVersion('resource', Resource)
  @ApiOperation({ summary: 'One chair, wash basin or room' })
  async resource(@Who() who: Principal, @Param('id') id: string) {
    const salon = await this.salons.of(who);
    return { resource: await this.resources.get(salon.id, requireId(id, 'id')) };
  }
}
