import {
  ArrayMinSize,
  ArrayUnique,
  IsArray,
  IsEmail,
  IsIn,
  IsInt,
  IsString,
  Length,
  Matches,
  Max,
  MaxLength,
  Min,
} from 'class-validator';
import { Blankable, NumberFromText, Trimmed } from '../base/index.js';
import { type Action, SCOPES } from './access.js';
import { ROLES, type Role } from './entities.js';

const LONGEST_PASSWORD = 1000;

/** Who somebody is, as letters and pages name her. */
class PersonInput {
  @Trimmed()
  @MaxLength(254, { message: 'E-mail address: use at most 254 characters.' })
  @IsEmail({}, { message: 'E-mail address: write it in full, such as mara@example.org.' })
  email: string;

  @Trimmed()
  @Length(1, 120, { message: 'Name: write at most 120 characters.' })
  @IsString({ message: 'Name: write it as text.' })
  name: string;
}

export class NewAccountInput extends PersonInput {
  @IsIn(ROLES, { message: `Role: choose one of ${ROLES.join(', ')}.` })
  role: Role;
}

export class FirstOwnerInput extends PersonInput {
  @MaxLength(LONGEST_PASSWORD, { message: 'Password: use at most 1,000 characters.' })
  @IsString({ message: 'Password: choose one.' })
  password: string;

  @Trimmed()
  @MaxLength(40, { message: 'Set-up code: copy it from the log.' })
  @IsString({ message: 'Set-up code: copy it from the log.' })
  code: string;
}

/** What every change to one's own way in asks for first. */
export class PresentPasswordInput {
  @MaxLength(LONGEST_PASSWORD, { message: 'Present password: this is too long.' })
  @IsString({ message: 'Present password: enter the one you signed in with.' })
  presentPassword: string;
}

export class PasswordChangeInput extends PresentPasswordInput {
  @MaxLength(LONGEST_PASSWORD, { message: 'Password: use at most 1,000 characters.' })
  @IsString({ message: 'Password: choose a new one.' })
  password: string;
}

export class CodesOnInput extends PresentPasswordInput {
  @Trimmed()
  @Matches(/^[A-Z2-7]{32}$/, { message: 'Secret: open this page again to get a new one.' })
  @IsString({ message: 'Secret: open this page again to get a new one.' })
  secret: string;

  @Trimmed()
  @MaxLength(10, { message: 'Code: enter the six digits that the authenticator shows now.' })
  @IsString({ message: 'Code: enter the six digits that the authenticator shows now.' })
  code: string;
}

export class PinInput extends PresentPasswordInput {
  /** Blank takes the PIN away. */
  @Blankable()
  @Matches(/^\d{4,8}$/, { message: 'PIN: choose four to eight digits, or leave it empty to have none.' })
  @IsString({ message: 'PIN: choose four to eight digits.' })
  pin?: string | null;
}

/** Somebody switches at a shared desk. */
export class PinSignInInput {
  @MaxLength(36, { message: 'Choose who you are.' })
  @IsString({ message: 'Choose who you are.' })
  accountId: string;

  @MaxLength(8, { message: 'PIN: four to eight digits.' })
  @IsString({ message: 'PIN: enter yours.' })
  pin: string;
}

export class ForgottenPasswordInput {
  @MaxLength(254, { message: 'That e-mail address is too long.' })
  @IsString({ message: 'Enter your e-mail address.' })
  email: string;
}

export class NewPasswordInput {
  @MaxLength(100, { message: 'This link is not whole. Copy all of it from the letter.' })
  @IsString({ message: 'This link is not whole. Copy all of it from the letter.' })
  link: string;

  @MaxLength(LONGEST_PASSWORD, { message: 'Password: use at most 1,000 characters.' })
  @IsString({ message: 'Password: choose one.' })
  password: string;
}

/** Which entries of the audit trail: the newest, or those before a number; of whom, about whom, of which kind. */
export class AuditQuery {
  @Blankable()
  @Matches(/^\d{1,9}$/, { message: 'Before: give the number of an entry.' })
  before?: string | null;

  @Blankable()
  @MaxLength(36, { message: 'Who: choose one of the list.' })
  @IsString({ message: 'Who: choose one of the list.' })
  who?: string | null;

  @Blankable()
  @MaxLength(36, { message: 'About: this is no id.' })
  @IsString({ message: 'About: this is no id.' })
  about?: string | null;

  @Blankable()
  @Matches(/^[a-z.-]{1,60}$/, { message: 'What: write the beginning of an action, such as client.health.' })
  what?: string | null;
}

export class NewTokenInput {
  @Trimmed()
  @Length(1, 80, { message: 'Name: say what the token is for, in at most 80 characters.' })
  @IsString({ message: 'Name: say what the token is for.' })
  name: string;

  @IsIn(SCOPES, { each: true, message: `Scopes: choose of ${SCOPES.join(', ')}.` })
  @ArrayUnique({ message: 'Scopes: name each only once.' })
  @ArrayMinSize(1, { message: 'Scopes: choose at least one.' })
  @IsArray({ message: 'Scopes: give a list.' })
  scopes: Action[];

  @NumberFromText()
  @Min(1, { message: 'Days: from 1 to 366.' })
  @Max(366, { message: 'Days: from 1 to 366.' })
  @IsInt({ message: 'Days: say for how many whole days it is good, from 1 to 366.' })
  days: number;
}
