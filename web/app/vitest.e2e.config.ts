import { defineConfig } from 'vitest/config'

// Drives the built app in a browser: `npm run build` first.
export default defineConfig({
  test: {
    include: ['e2e/**/*.test.ts'],
    fileParallelism: false,
    testTimeout: 300_000,
    hookTimeout: 120_000,
  },
})
