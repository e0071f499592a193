import {
  Body,
  Controller,
  Delete,
  Get,
  HttpCode,
  Param,
  Patch,
  Post,
  Query,
  Res,
  UploadedFile,
} from '@nestjs/common';
import type { MultipartFileStream } from '@nestjs/platform-fastify/multipart';
import { ApiBody, ApiConsumes, ApiOperation } from '@nestjs/swagger';
import type { FastifyReply } from 'fastify';
import { DomainError } from '../base/index.js';
import {
  IMPORT_FIELDS,
  IMPORT_KINDS,
  type ImportRun,
  ImportSettingsInput,
  Imports,
  OUTCOMES,
  type Outcome,
} from '../exchange/index.js';
import { By, IMPORT_FIELD, Needs, sentFile, TakesImport, Who } from '../http/index.js';
import type { Actor, Principal } from '../identity/index.js';
import { Salons } from '../salon/index.js';
import { ApiPart, Sends, Takes } from './openapi.js';
import { nextOf, Paged, type PagedList, type PageQuery, pageAsked } from './page.js';
import { countParam, requireId } from './params.js';

const MOST_LINES = 500;
const IMPORTS: PagedList = { name: 'imports', key: ['text'], usual: 50, most: 100 };

/** Files that are taken over. They belong to the owner; a token needs the scope import.write. */
@ApiPart('imports')
@Needs('import.write')
@Controller('api/v1/imports')
export class ImportsController {
  constructor(
    private readonly imports: Imports,
    private readonly salons: Salons,
  ) {}

  @Get()
  @Paged(IMPORTS)
  @ApiOperation({ summary: 'Imports of the last month, newest first, in pages' })
  async list(@Who() principal: Principal, @By() actor: Actor, @Query() query: PageQuery) {
    const asked = pageAsked(IMPORTS, query);
    const { id } = await this.salons.of(principal);
    const { rows, next } = await this.imports.page(id, asked, actor);
    return { imports: rows.map((run) => this.shown(run)), next: nextOf(IMPORTS, next) };
  }

  @Get('fields')
  @ApiOperation({ summary: 'What a column can stand for, by kind of file' })
  fields() {
    return {
      fields: Object.fromEntries(
        IMPORT_KINDS.map((kind) => [kind, IMPORT_FIELDS[kind].map(({ key, label }) => ({ key, label }))]),
      ),
    };
  }

  @Post()
  @TakesImport()
  @ApiConsumes('multipart/form-data')
  @ApiBody({
    schema: {
      type: 'object',
      required: ['kind', IMPORT_FIELD],
      properties: {
        kind: { type: 'string', enum: [...IMPORT_KINDS] },
        [IMPORT_FIELD]: { type: 'string', format: 'binary' },
      },
    },
  })
  @ApiOperation({
    summary: 'Hand in a file: a form with its kind and then the file; columns are guessed from the headings',
  })
  async upload(
    @Who() principal: Principal,
    @Body() body: unknown,
    @By() actor: Actor,
    @UploadedFile() file?: MultipartFileStream,
  ) {
    const { id } = await this.salons.of(principal);
    const { [IMPORT_FIELD]: _, ...given } = (body ?? {}) as Record<string, unknown>;
    return { import: this.shown(await this.imports.upload(id, given, sentFile(file), actor)) };
  }

  @Get(':id')
  @ApiOperation({ summary: 'How an import is set up, and how far it is' })
  async one(@Param('id') id: string, @By() actor: Actor) {
    return { import: this.shown(await this.imports.get(requireId(id, 'id'), actor)) };
  }

  @Get(':id/preview')
  @ApiOperation({ summary: 'Headings and first rows as they are read now' })
  async preview(@Param('id') id: string, @By() actor: Actor) {
    return await this.imports.preview(await this.imports.get(requireId(id, 'id'), actor));
  }

  @Patch(':id')
  @Takes(ImportSettingsInput)
  @ApiOperation({ summary: 'Set up which column is which and what happens to doubles' })
  async setUp(@Param('id') id: string, @Body() body: unknown, @By() actor: Actor) {
    return { import: this.shown(await this.imports.setUp(requireId(id, 'id'), body, actor)) };
  }

  @Post(':id/check')
  @HttpCode(202)
  @ApiOperation({ summary: 'Begin a check, which says row by row what would happen and changes nothing' })
  async check(@Param('id') id: string, @By() actor: Actor) {
    await this.imports.check(requireId(id, 'id'), actor);
    return await this.one(id, actor);
  }

  @Post(':id/run')
  @HttpCode(202)
  @ApiOperation({ summary: 'Begin the import, or go on where it was cut short' })
  async run(@Param('id') id: string, @By() actor: Actor) {
    await this.imports.run(requireId(id, 'id'), actor);
    return await this.one(id, actor);
  }

  @Post(':id/stop')
  @HttpCode(200)
  @ApiOperation({ summary: 'Stop after the batch in hand; what was imported stays' })
  async stop(@Param('id') id: string, @By() actor: Actor) {
    await this.imports.stop(requireId(id, 'id'), actor);
    return await this.one(id, actor);
  }

  @Get(':id/report')
  @ApiOperation({
    summary: `What became of each row: ${OUTCOMES.join(', ')}; \`from\` is the \`next\` of the page before`,
  })
  async report(
    @Param('id') id: string,
    @By() actor: Actor,
    @Query('outcome') outcome?: string,
    @Query('from') from?: string,
    @Query('limit') limit?: string,
  ) {
    const wanted = outcomeParam(outcome);
    const wish = {
      ...(wanted && { outcome: wanted }),
      from: placeParam(from),
      limit: countParam(limit, 'limit', 100, MOST_LINES),
    };
    return await this.imports.report(requireId(id, 'id'), wish, actor);
  }

  @Get(':id/refused.csv')
  @Sends('text/csv')
  @ApiOperation({ summary: 'Refused rows as a sheet with the reasons, to be mended and handed in again' })
  async refused(@Param('id') id: string, @By() actor: Actor, @Res() reply: FastifyReply): Promise<void> {
    const csv = await this.imports.refused(requireId(id, 'id'), actor);
    await reply
      .header('content-type', 'text/csv; charset=utf-8')
      .header('content-disposition', 'attachment; filename="refused.csv"')
      .send(csv);
  }

  @Delete(':id')
  @HttpCode(204)
  @ApiOperation({ summary: 'Let the file and its report go; what was imported stays' })
  async remove(@Param('id') id: string, @By() actor: Actor): Promise<void> {
    await this.imports.remove(requireId(id, 'id'), actor);
  }

  private shown(run: ImportRun) {
    const { id, kind, format, fileName, bytes, encoding, delimiter, survey, settings, state, pass } = run;
    const { rowsDone, newRows, changedRows, sameRows, skippedRows, refusedRows, problem } = run;
    return {
      id,
      kind,
      format,
      fileName,
      bytes,
      encoding,
      delimiter,
      headings: survey.headings,
      rows: survey.rows,
      settings,
      state: this.imports.isAbandoned(run) ? 'stopped' : state,
      pass,
      rowsDone,
      counts: {
        new: newRows,
        changed: changedRows,
        same: sameRows,
        skipped: skippedRows,
        refused: refusedRows,
      },
      problem,
      lacks: this.imports.lacks(run),
      madeAt: run.madeAt,
      finishedAt: run.finishedAt,
    };
  }
}

/** Throws naming the parameter for anything that no row becomes. */
function outcomeParam(text: string | undefined): Outcome | undefined {
  if (text === undefined || text === '') return undefined;
  const outcome = OUTCOMES.find((one) => one === text);
  if (outcome) return outcome;
  throw DomainError.invalid('INPUT.INVALID', 'outcome', `outcome must be one of ${OUTCOMES.join(', ')}.`);
}

function placeParam(text: string | undefined): number {
  if (text === undefined || text === '') return 0;
  const place = Number(text);
  if (Number.isInteger(place) && place >= 0 && place <= 1_000_000) return place;
  throw DomainError.invalid('INPUT.INVALID', 'from', 'from must be the next of the page before.');
}
