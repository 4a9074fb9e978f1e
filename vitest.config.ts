import { join } from 'node:path'
import { defineConfig } from 'vitest/config'

// Hundreds of programs and threads are begun by the tests, each of a hundred files or more: what Node has compiled of one serves the
// next.
process.env.NODE_COMPILE_CACHE ??= join(import.meta.dirname, 'node_modules/.cache/compiled')

export default defineConfig({
  test: {
    include: ['tests/**/*.test.ts'],
    exclude: ['tests/soak/**', 'tests/bench/**', '**/node_modules/**'],
    testTimeout: 30_000,
    hookTimeout: 60_000,
    // How long something may take to show; on a machine that tests two files at once a second is little.
    expect: { poll: { timeout: 15_000 } },
    // One more go: with thousands of tests on real sockets, browsers and programs one of them meets a machine that was
    // busy. `tests/second-go.ts` names each that needed it.
    retry: 1,
    pool: 'forks',
    // Two files at a time: several drive real browsers, cores and clocks, and must not starve each other on two cores.
    maxWorkers: 2,
  },
})
