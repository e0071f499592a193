export * from './entities.js';
export type { PhotoPair } from './pairs.js';
export { isPhotoName, PhotoFiles } from './photo-files.js';
export { type PhotoRecord, Photos } from './photos.js';
export { PhotosModule } from './photos.module.js';
export { MOST_BYTES, tooLarge } from './picture.js';
