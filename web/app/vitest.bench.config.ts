import { defineConfig } from 'vitest/config'

// Prints what the built app costs in a browser on this machine.
export default defineConfig({
  test: {
    include: ['bench/**/*.test.ts'],
    testTimeout: 600_000,
    hookTimeout: 120_000,
    reporters: [['default', { summary: false }]],
  },
})
