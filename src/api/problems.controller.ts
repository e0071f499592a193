import { Controller, Get, Param } from '@nestjs/common';
import { ApiExcludeController } from '@nestjs/swagger';
import { DomainError } from '../base/index.js';
import { Open, PROBLEM_TYPES } from '../http/index.js';

/** What the `type` of every problem resolves to. */
@ApiExcludeController()
@Open()
@Controller('api/problems')
export class ProblemsController {
  @Get()
  all() {
    return { problems: [...PROBLEM_TYPES].map(([code, meaning]) => ({ code, meaning })) };
  }

  @Get(':code')
  one(@Param('code') code: string) {
    const meaning = PROBLEM_TYPES.get(code);
    if (meaning === undefined) throw DomainError.notFound('HTTP.404', 'code of a problem');
    return { code, meaning };
  }
}
