import { Body, Controller, Get, HttpCode, Param, Post } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import { By, Needs } from '../http/index.js';
import type { Actor } from '../identity/index.js';
import {
  CAUTIONS,
  ClearanceDto,
  ReadingDto,
  SafetyNoteDto,
  SafetyRecords,
  SkinTests,
} from '../skin-tests/index.js';
import { ApiPart, Takes } from './openapi.js';
import { requireId } from './params.js';

@ApiPart('skin-tests')
@Needs('skin-test.read')
@Controller('api/v1')
export class SkinTestsController {
  constructor(
    private readonly skinTests: SkinTests,
    private readonly safety: SafetyRecords,
  ) {}

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
  @Takes(ReadingDto)
  async read(@Param('id') id: string, @Body() body: unknown, @By() actor: Actor) {
    return { test: await this.skinTests.read(requireId(id, 'id'), body, actor), cautions: CAUTIONS };
  }

  @Post('clients/:id/safety-notes')
  @Needs('skin-test.write')
  @ApiOperation({ summary: 'Note an earlier reaction or an irritated scalp: from now on it bars colour' })
  @Takes(SafetyNoteDto)
  async note(@Param('id') id: string, @Body() body: unknown, @By() actor: Actor) {
    return { note: await this.safety.note(requireId(id, 'id'), body, actor), cautions: CAUTIONS };
  }

  @Post('clients/:id/scalp-settled')
  @Needs('skin-test.write')
  @HttpCode(204)
  @ApiOperation({ summary: 'The irritated scalp that was noted was looked at and has settled' })
  async settled(@Param('id') id: string, @By() actor: Actor): Promise<void> {
    await this.safety.scalpSettled(requireId(id, 'id'), actor);
  }

  @Post('clients/:id/medical-clearances')
  @Needs('skin-test.write')
  @ApiOperation({ summary: "A doctor's written word after a reaction; the owner records it" })
  @Takes(ClearanceDto)
  async clear(@Param('id') id: string, @Body() body: unknown, @By() actor: Actor) {
    return { clearance: await this.safety.clear(requireId(id, 'id'), body, actor), cautions: CAUTIONS };
  }
}
