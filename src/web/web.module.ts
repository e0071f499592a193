import { Module } from '@nestjs/common';
import { SignInPages } from './sign-in.pages.js';

@Module({ controllers: [SignInPages] })
export class WebModule {}
