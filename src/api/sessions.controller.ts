import { Body, Controller, Delete, HttpCode, Post, Req } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import { IsOptional, IsString, MaxLength } from 'class-validator';
import type { FastifyRequest } from 'fastify';
import { validated } from '../base/index.js';
import { Open, WithoutKey } from '../http/index.js';
import { SignIn } from '../identity/index.js';
import { ApiPart, Takes } from './openapi.js';

export class SessionInput {
  @IsString({ message: 'email must be the e-mail address of an account.' })
  @MaxLength(254, { message: 'email can have at most 254 characters.' })
  email: string;

  @IsString({ message: 'password must be text.' })
  @MaxLength(1000, { message: 'password can have at most 1,000 characters.' })
  password: string;

  /** Six digits of the authenticator, where the account asks for them. */
  @IsOptional()
  @IsString({ message: 'code must be text.' })
  @MaxLength(10, { message: 'code has six digits.' })
  code?: string;
}

@ApiPart('sessions')
@Open()
@WithoutKey()
@Controller('api/v1/sessions')
export class SessionsController {
  constructor(private readonly signIn: SignIn) {}

  @Post()
  @ApiOperation({ summary: 'Sign in: a token for the Authorization header' })
  @Takes(SessionInput)
  async start(@Body() body: unknown, @Req() request: FastifyRequest) {
    const { email, password, code } = await validated(SessionInput, body);
    return await this.signIn.signIn(email, password, {
      address: request.ip,
      agent: request.headers['user-agent'],
      code,
    });
  }

  @Delete('current')
  @HttpCode(204)
  @ApiOperation({ summary: 'Sign out' })
  async end(@Req() request: FastifyRequest): Promise<void> {
    if (request.sessionToken !== undefined) await this.signIn.signOut(request.sessionToken);
  }
}
