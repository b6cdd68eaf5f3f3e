import { defineConfig } from 'vitest/config'

// SLOW=6 makes the browser's page that many times slower than this machine.
const slow = Number(process.env.SLOW ?? 1)

// Drives the built app in a browser: `npm run build` first.
export default defineConfig({
  test: {
    include: ['e2e/**/*.test.ts'],
    fileParallelism: false,
    testTimeout: 300_000 * slow,
    hookTimeout: 120_000 * slow,
  },
})
