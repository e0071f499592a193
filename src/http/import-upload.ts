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
import { FileStreamInterceptor } from '@nestjs/platform-fastify/multipart';
import { catchError, type Observable } from 'rxjs';
import { DomainError } from '../base/index.js';
import { MOST_FILE_BYTES, tooLarge } from '../exchange/index.js';

/** The field of a form that carries the file; it comes last. */
export const IMPORT_FIELD = 'file';
const LIMITS = {
  fileSize: MOST_FILE_BYTES,
  files: 1,
  fields: 8,
  fieldSize: 400,
  fieldNameSize: 40,
  parts: 10,
};

/** Says what is wrong with a form in the words of its field. */
@Injectable()
class UploadProblems implements NestInterceptor {
  intercept(_: ExecutionContext, next: CallHandler): Observable<unknown> {
    return next.handle().pipe(
      catchError((error: unknown) => {
        if (error instanceof PayloadTooLargeException) throw tooLarge();
        // The parser's other refusals name no field: a second file, a form that breaks off.
        if (error instanceof HttpException && error.getStatus() < 500) {
          throw DomainError.invalid(
            'IMPORT.FORM',
            IMPORT_FIELD,
            `File: send one form with the file in its last field, "${IMPORT_FIELD}".`,
          );
        }
        throw error;
      }),
    );
  }
}

/** A route that takes a form with one file (`@UploadedFile()`), streamed, read only once access has been checked. */
export const TakesImport = () =>
  applyDecorators(UseInterceptors(UploadProblems, FileStreamInterceptor(IMPORT_FIELD, { limits: LIMITS })));

/** The file of such a form as a room takes it. Throws IMPORT.NO_FILE where none was chosen. */
export function sentFile(
  file: { readonly originalname: string; readonly stream: AsyncIterable<Uint8Array> } | undefined,
): { readonly name: string; readonly bytes: AsyncIterable<Uint8Array> } {
  if (!file?.stream || file.originalname === '') {
    throw DomainError.invalid('IMPORT.NO_FILE', IMPORT_FIELD, 'File: choose the file to be imported.');
  }
  return { name: file.originalname, bytes: file.stream };
}
