import {
  Body,
  Controller,
  Delete,
  Get,
  HttpCode,
  Param,
  Post,
  Query,
  Res,
  UploadedFile,
} from '@nestjs/common';
import type { UploadedMultipartFile } from '@nestjs/platform-fastify/multipart';
import { ApiOperation } from '@nestjs/swagger';
import type { FastifyReply } from 'fastify';
import { Clients } from '../clients/index.js';
import { By, Needs } from '../http/index.js';
import type { Actor } from '../identity/index.js';
import { Photos } from '../photos/index.js';
import { ApiPart, Sends } from './openapi.js';
import { requireId } from './params.js';
import { TakesPhotoForm } from './uploads.js';

@ApiPart('photos')
@Needs('cut.read')
@Controller('api/v1')
export class PhotosController {
  constructor(
    private readonly photos: Photos,
    private readonly clients: Clients,
  ) {}

  @Get('clients/:id/photos')
  @ApiOperation({ summary: "A client's photographs, newest first" })
  async ofClient(@Param('id') id: string) {
    const client = await this.clients.get(requireId(id, 'id'));
    return { photos: await this.photos.ofClient(client.id) };
  }

  @Get('visits/:id/photos')
  @ApiOperation({ summary: 'The photographs of a visit, newest first' })
  async ofVisit(@Param('id') id: string) {
    return { photos: await this.photos.ofVisit(requireId(id, 'id')) };
  }

  @Get('visits/:id/photo-pairs')
  @ApiOperation({
    summary: 'Before and after by angle, within the visit or against another of the same client',
  })
  async pairs(@Param('id') id: string, @Query('against') against?: string) {
    const visitId = requireId(id, 'id');
    return { pairs: await this.photos.pairs(visitId, against ? requireId(against, 'against') : undefined) };
  }

  @Post('visits/:id/photos')
  @Needs('cut.write')
  @TakesPhotoForm()
  @ApiOperation({ summary: 'Add a photograph to a visit: a form with photo, angle and moment' })
  async add(
    @Param('id') id: string,
    @Body() body: unknown,
    @By() actor: Actor,
    @UploadedFile() file?: UploadedMultipartFile,
  ) {
    // Words in the picture's field are no picture.
    const { photo: _, ...given } = (body ?? {}) as Record<string, unknown>;
    return { photo: await this.photos.add({ ...given, visitId: requireId(id, 'id') }, file?.buffer, actor) };
  }

  @Get('photos/:id/image')
  @Sends('image/jpeg')
  @ApiOperation({ summary: 'The picture itself, a JPEG' })
  async image(@Param('id') id: string, @Res() reply: FastifyReply): Promise<void> {
    const { data } = await this.photos.read(requireId(id, 'id'));
    await reply
      .header('content-type', 'image/jpeg')
      .header('cache-control', 'private, no-store')
      .header('content-disposition', 'inline')
      .send(data);
  }

  @Delete('photos/:id')
  @Needs('cut.write')
  @HttpCode(204)
  @ApiOperation({ summary: 'Remove a photograph for good' })
  async remove(@Param('id') id: string, @By() actor: Actor): Promise<void> {
    await this.photos.remove(requireId(id, 'id'), actor);
  }
}
