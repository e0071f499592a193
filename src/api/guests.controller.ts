import { Body, Controller, Get, HttpCode, Param, Post, Req } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import type { FastifyRequest } from 'fastify';
import { LinkMoveInput } from '../book/index.js';
import { Open, WithoutKey } from '../http/index.js';
import { ShapeLinks } from '../rebooking/index.js';
import { Unsubscribe } from '../reminders/index.js';
import { ApiPart, Takes } from './openapi.js';

/** What the links in invitations open, and the links at the foot of every message. */
@ApiPart('private links')
@Open()
@Controller('api/v1')
export class GuestsController {
  constructor(
    private readonly shapes: ShapeLinks,
    private readonly messages: Unsubscribe,
  ) {}

  @Get('next-links/:token')
  @ApiOperation({ summary: "Free times for a client's next cut, the best first" })
  async next(@Param('token') token: string) {
    return { next: await this.shapes.resolve(token) };
  }

  @Post('next-links/:token/booking')
  @WithoutKey()
  @ApiOperation({ summary: 'Book one of the free times; the answer holds the link to the appointment' })
  @Takes(LinkMoveInput)
  async book(@Param('token') token: string, @Body() body: unknown, @Req() { ip }: FastifyRequest) {
    const { appointment, token: link } = await this.shapes.take(token, body, ip);
    const { id, startsAt, endsAt } = appointment;
    return { appointment: { id, startsAt, endsAt }, token: link };
  }

  @Get('unsubscriptions/:token')
  @ApiOperation({ summary: 'What the link in a message offers to end' })
  offer(@Param('token') token: string) {
    return { offer: this.messages.offer(token) };
  }

  @Post('unsubscriptions/:token')
  @HttpCode(204)
  @ApiOperation({ summary: 'No more of these messages' })
  async end(@Param('token') token: string): Promise<void> {
    await this.messages.end(token);
  }

  @Post('unsubscriptions/:token/resumption')
  @HttpCode(204)
  @ApiOperation({ summary: 'These messages again, for one who pressed by mistake' })
  async resume(@Param('token') token: string): Promise<void> {
    await this.messages.resume(token);
  }
}
