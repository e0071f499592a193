import { Module } from '@nestjs/common';
import { PhotoSweeper } from './photo-sweeper.js';
import { Photos } from './photos.js';

@Module({ providers: [Photos, PhotoSweeper], exports: [Photos] })
export class PhotosModule {}
