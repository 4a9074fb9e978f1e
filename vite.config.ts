import { readdirSync, writeFileSync } from 'node:fs'
import { join, relative, sep } from 'node:path'
import { fileURLToPath } from 'node:url'
import react from '@vitejs/plugin-react'
import { defineConfig } from 'vite'

/** The list of what was built, by which the desktop program finds it inside its archive. */
const listOfFiles = {
  name: 'list-of-files',
  writeBundle({ dir }: { dir?: string }) {
    const folder = dir!
    const names = readdirSync(folder, { recursive: true, withFileTypes: true })
      .filter((entry) => entry.isFile() && entry.name !== 'files.json')
      .map((entry) => relative(folder, join(entry.parentPath, entry.name)).split(sep).join('/'))
    writeFileSync(join(folder, 'files.json'), JSON.stringify(names.sort()))
  },
}

export default defineConfig({
  root: fileURLToPath(new URL('renderer', import.meta.url)),
  base: './',
  plugins: [react(), listOfFiles],
  build: {
    outDir: fileURLToPath(new URL('dist/renderer', import.meta.url)),
    emptyOutDir: true,
    // The page's policy lets no data: address load a font.
    assetsInlineLimit: 0,
    target: 'es2022',
    // Plotly is one piece and comes only when a study asks for it.
    chunkSizeWarningLimit: 5000,
  },
})
