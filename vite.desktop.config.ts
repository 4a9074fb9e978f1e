import { cpSync, mkdirSync } from 'node:fs'
import { builtinModules } from 'node:module'
import { join } from 'node:path'
import { defineConfig } from 'vite'

const here = import.meta.dirname
const native = ['better-sqlite3', 'serialport', 'usb', 'koffi']
// Native packages stay outside the bundle; everything else is drawn in, so that a package holds few files.
const external = [/^node:/, ...builtinModules, 'electron', ...native, /^@serialport\//]
const preload = process.env.STILLPOINT_BUILD === 'preload'

/**
 * Files that the bundle reads while it runs. The profiles lie where `../profiles/` leads from a bundled file, as it does
 * from their reader's source; fonts stay in their packages and are found through Node's own resolution in both.
 */
const besideBundle = {
  name: 'beside-bundle',
  writeBundle({ dir }: { dir?: string }) {
    mkdirSync(join(here, 'dist/profiles'), { recursive: true })
    cpSync(join(here, 'drivers/profiles'), join(here, 'dist/profiles'), { recursive: true })
    cpSync(join(here, 'main/desktop/resources/icon.png'), join(dir ?? here, 'icon.png'))
  },
}

/** The desktop shell and the core into dist/desktop. The sandboxed preload must be CommonJS, so it is built apart. */
export default defineConfig({
  publicDir: false,
  plugins: preload ? [] : [besideBundle],
  build: {
    outDir: 'dist/desktop',
    emptyOutDir: !preload,
    target: 'node24',
    minify: false,
    ssr: true,
    rolldownOptions: {
      input: preload
        ? { preload: join(here, 'main/desktop/preload.ts') }
        : {
            main: join(here, 'main/desktop/main.ts'),
            core: join(here, 'main/desktop/core-process.ts'),
            // Started by the shell, one for each VISA link.
            'visa-process': join(here, 'drivers/link/visa-process.ts'),
            // Threads that the core starts, found beside it.
            'reader-worker': join(here, 'main/store/reader-worker.ts'),
            'write-worker': join(here, 'main/store/write-worker.ts'),
            'report-worker': join(here, 'main/study/report-worker.ts'),
            'replay-worker': join(here, 'main/study/replay-worker.ts'),
            'practice-worker': join(here, 'main/host/practice-worker.ts'),
            'preview-worker': join(here, 'main/host/preview-worker.ts'),
            'validation-worker': join(here, 'main/host/validation/validation-worker.ts'),
          },
      external,
      output: preload
        ? { format: 'cjs', entryFileNames: '[name].cjs' }
        : {
            format: 'es',
            entryFileNames: '[name].mjs',
            chunkFileNames: '[name]-[hash].mjs',
            // Packages written as CommonJS ask for it, pdfmake while it sets the first line of a report.
            banner: 'const __dirname = import.meta.dirname',
          },
    },
  },
  ssr: { noExternal: true, external: ['electron', ...native] },
})
