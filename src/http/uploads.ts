import {
  applyDecorators,
  type CallHandler,
  type ExecutionContext,
  HttpException,
  Injectable,
  type NestInterceptor,
  PayloadTooLargeException,
  UseInterceptors,
} from '@nestjs/common';
import { FileInterceptor } from '@nestjs/platform-fastify/multipart';
import { catchError, type Observable } from 'rxjs';
import { DomainError } from '../base/index.js';
import { MOST_BYTES, tooLarge } from '../photos/index.js';

/** The field of a form that carries the picture. */
export const PHOTO_FIELD = 'photo';
/** One picture and a few short words; nothing else of a form is read into memory. */
const LIMITS = { fileSize: MOST_BYTES, files: 1, fields: 8, fieldSize: 400, fieldNameSize: 40, parts: 10 };

/** Says what is wrong with a form in the words of its field. */
@Injectable()
class UploadProblems implements NestInterceptor {
  intercept(_: ExecutionContext, next: CallHandler): Observable<unknown> {
    return next.handle().pipe(
      catchError((error: unknown) => {
        // The parser's refusals name no field: too large a file, a second file, a form that breaks off.
        if (error instanceof PayloadTooLargeException) throw tooLarge(PHOTO_FIELD);
        if (error instanceof HttpException && error.getStatus() < 500) {
          throw DomainError.invalid(
            'PHOTO.FORM',
            PHOTO_FIELD,
            `Photo: send one form with one picture in the field "${PHOTO_FIELD}" and short words in the others.`,
          );
        }
        throw error;
      }),
    );
  }
}

/** A route that takes a form with one picture (`@UploadedFile()`), read only once access has been checked. */
export const TakesPhoto = () =>
  applyDecorators(UseInterceptors(UploadProblems, FileInterceptor(PHOTO_FIELD, { limits: LIMITS })));
