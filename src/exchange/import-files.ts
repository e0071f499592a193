import { join } from 'node:path';
import { Inject, Injectable } from '@nestjs/common';
import { SETTINGS, type Settings } from '../store/index.js';
import { UploadFiles } from './upload-files.js';

/** The folder of files that were handed in, beside the database. */
@Injectable()
export class ImportFiles {
  readonly files: UploadFiles;

  constructor(@Inject(SETTINGS) settings: Settings) {
    this.files = new UploadFiles(join(settings.dataDir, 'imports'));
  }
}
