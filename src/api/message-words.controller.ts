import { Body, Controller, Delete, Get, HttpCode, Param, Post, Put } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import { By, Needs, Who } from '../http/index.js';
import type { Actor, Principal } from '../identity/index.js';
import { SalonWords, WordsInput } from '../reminders/index.js';
import { Salons } from '../salon/index.js';
import { ApiPart, Takes } from './openapi.js';

type Key = { readonly kind: string; readonly channel: string; readonly language: string };

/** The owner's own words for every kind of message; kind, channel and language stand in the address. */
@ApiPart('messages')
@Needs('salon.write')
@Controller('api/v1/message-words')
export class MessageWordsController {
  constructor(
    private readonly salons: Salons,
    private readonly words: SalonWords,
  ) {}

  @Get()
  @ApiOperation({ summary: 'Which kinds and channels have words of your own' })
  async list(@Who() who: Principal) {
    const { id } = await this.salons.of(who);
    return { words: await this.words.own(id) };
  }

  @Get(':kind/:channel/:language')
  @ApiOperation({ summary: 'The words that count now, and the names that may stand in double braces' })
  async get(@Who() who: Principal, @Param() key: Key) {
    return { words: await this.words.get(await this.keyOf(who, key)) };
  }

  @Put(':kind/:channel/:language')
  @ApiOperation({ summary: 'Make these the words from now on: a new version' })
  @Takes(WordsInput)
  async save(@Who() who: Principal, @By() actor: Actor, @Param() key: Key, @Body() body: unknown) {
    return { words: await this.words.save(await this.keyOf(who, key), body, actor) };
  }

  @Post(':kind/:channel/:language/preview')
  @HttpCode(200)
  @ApiOperation({ summary: "How words would read, filled with a client's data or invented ones" })
  @Takes(WordsInput)
  async preview(@Who() who: Principal, @Param() key: Key, @Body() body: unknown) {
    return { preview: await this.words.preview(await this.keyOf(who, key), body) };
  }

  @Delete(':kind/:channel/:language')
  @ApiOperation({ summary: 'Go back to the words that come with the program' })
  async restore(@Who() who: Principal, @By() actor: Actor, @Param() key: Key) {
    return { words: await this.words.restore(await this.keyOf(who, key), actor) };
  }

  private async keyOf(who: Principal, { kind, channel, language }: Key) {
    const { id } = await this.salons.of(who);
    return { salonId: id, kind, channel, language };
  }
}
