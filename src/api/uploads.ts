import { applyDecorators } from '@nestjs/common';
import { ApiBody, ApiConsumes } from '@nestjs/swagger';
import { PHOTO_FIELD, TakesPhoto } from '../http/index.js';

/** A route that takes a form with one picture, and says so in the API's description. */
export const TakesPhotoForm = () =>
  applyDecorators(
    TakesPhoto(),
    ApiConsumes('multipart/form-data'),
    ApiBody({
      schema: {
        type: 'object',
        required: [PHOTO_FIELD, 'angle'],
        properties: {
          [PHOTO_FIELD]: { type: 'string', format: 'binary' },
          angle: { type: 'string' },
          moment: { type: 'string' },
        },
      },
    }),
  );
