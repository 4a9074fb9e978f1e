import { defineConfig, mergeConfig } from 'vitest/config'
import ours from '../../vitest.config.ts'

/** The tests as they are, loaded by Node itself, so that what V8 counts stands at the product's own characters. */
export default mergeConfig(
  ours,
  defineConfig({
    test: {
      root: `${import.meta.dirname}/../..`,
      setupFiles: [`${import.meta.dirname}/note-coverage.ts`],
      experimental: { viteModuleRunner: false },
    },
  }),
)
