import { defineConfig } from 'vitest/config'

export default defineConfig({
  test: {
    include: ['tests/**/*.test.ts'],
    exclude: ['tests/soak/**', 'tests/bench/**', '**/node_modules/**'],
    testTimeout: 30_000,
    hookTimeout: 60_000,
    pool: 'forks',
    // Tests wait more than they work: two at a time keep two cores busy.
    maxWorkers: 2,
  },
})
