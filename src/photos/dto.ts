import { IsIn, IsUUID } from 'class-validator';
import { Trimmed } from '../base/index.js';
import { PHOTO_ANGLES, PHOTO_MOMENTS, type PhotoAngle, type PhotoMoment } from './entities.js';

/** What is said of a photograph; the picture itself comes as bytes. */
export class NewPhotoDto {
  @IsUUID('all', { message: 'Visit: say which visit the photo is of.' })
  visitId: string;

  @Trimmed()
  @IsIn(PHOTO_ANGLES, { message: `Angle: choose one of ${PHOTO_ANGLES.join(', ')}.` })
  angle: PhotoAngle;

  @Trimmed()
  @IsIn(PHOTO_MOMENTS, { message: `Moment: choose ${PHOTO_MOMENTS.join(' or ')}.` })
  moment: PhotoMoment = 'after';
}
