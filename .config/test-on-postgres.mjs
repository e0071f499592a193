process.env.TEST_STORE = 'postgres';
