import 'reflect-metadata';
import { Controller, Get, Module } from '@nestjs/common';
import { NestFactory } from '@nestjs/core';
import { FastifyAdapter, type NestFastifyApplication } from '@nestjs/platform-fastify';

@Controller('health/ready')
class Ready {
  @Get()
  ready() {
    return { status: 'ready' };
  }
}

@Module({ controllers: [Ready] })
class Bare {}

/** What a NestJS application on Fastify is before it does anything: the measure of our own memory and start. */
const app = await NestFactory.create<NestFastifyApplication>(Bare, new FastifyAdapter(), { logger: false });
await app.listen(Number(process.env['PORT']), '127.0.0.1');
process.once('SIGTERM', () => void app.close());
