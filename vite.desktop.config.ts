import { builtinModules } from 'node:module'
import { join } from 'node:path'
import { defineConfig } from 'vite'

const here = import.meta.dirname
// Native packages stay outside the bundle; everything else is drawn in, so that a package holds few files.
const external = [/^node:/, ...builtinModules, 'electron', 'better-sqlite3', 'serialport', /^@serialport\//]
const preload = process.env.STILLPOINT_BUILD === 'preload'

/** The desktop shell and the core into dist/desktop. The sandboxed preload must be CommonJS, so it is built apart. */
export default defineConfig({
  publicDir: false,
  build: {
    outDir: 'dist/desktop',
    emptyOutDir: !preload,
    target: 'node24',
    minify: false,
    ssr: true,
    rolldownOptions: {
      input: preload
        ? { preload: join(here, 'main/desktop/preload.ts') }
        : { main: join(here, 'main/desktop/main.ts'), core: join(here, 'main/desktop/core-process.ts') },
      external,
      output: preload
        ? { format: 'cjs', entryFileNames: '[name].cjs' }
        : { format: 'es', entryFileNames: '[name].mjs', chunkFileNames: '[name]-[hash].mjs' },
    },
  },
  ssr: { noExternal: true, external: ['electron', 'better-sqlite3', 'serialport'] },
})
