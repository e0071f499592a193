import { Body, Controller, Get, HttpCode, Param, Post } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import { By, Needs } from '../http/index.js';
import type { Actor } from '../identity/index.js';
import { CAUTIONS, SkinTests } from '../skin-tests/index.js';
import { ApiPart } from './openapi.js';
import { requireId } from './params.js';

@ApiPart('skin-tests')
@Needs('skin-test.read')
@Controller('api/v1')
export class SkinTestsController {
  constructor(private readonly skinTests: SkinTests) {}

  @Get('clients/:id/skin-tests')
  @ApiOperation({ summary: "A client's skin tests with their state, and the cautions that go with them" })
  async list(@Param('id') id: string, @By() actor: Actor) {
    const { tests } = await this.skinTests.standingFor(requireId(id, 'id'), actor);
    return { tests, cautions: CAUTIONS };
  }

  @Post('clients/:id/skin-tests')
  @Needs('skin-test.write')
  @ApiOperation({ summary: 'Record a skin test that was applied' })
  async record(@Param('id') id: string, @Body() body: unknown, @By() actor: Actor) {
    const given = typeof body === 'object' && body !== null ? body : {};
    return {
      test: await this.skinTests.record({ ...given, clientId: requireId(id, 'id') }, actor),
      cautions: CAUTIONS,
    };
  }

  @Post('skin-tests/:id/reading')
  @Needs('skin-test.write')
  @HttpCode(200)
  @ApiOperation({ summary: 'Record what was read' })
  async read(@Param('id') id: string, @Body() body: unknown, @By() actor: Actor) {
    return { test: await this.skinTests.read(requireId(id, 'id'), body, actor), cautions: CAUTIONS };
  }
}
