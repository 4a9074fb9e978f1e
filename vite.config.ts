import { fileURLToPath } from 'node:url'
import react from '@vitejs/plugin-react'
import { defineConfig } from 'vite'

export default defineConfig({
  root: fileURLToPath(new URL('renderer', import.meta.url)),
  base: './',
  plugins: [react()],
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
