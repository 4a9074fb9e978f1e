import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'

const root = join(import.meta.dirname, '../../renderer')
const views = readdirSync(root, { recursive: true, encoding: 'utf8' }).filter((name) => name.endsWith('.tsx'))

describe('the views of the window', () => {
  it('know nothing of the client: only *.connect.tsx and main.tsx do', () => {
    expect(views.length).toBeGreaterThan(40)
    const guilty = views
      .filter((name) => !name.endsWith('.connect.tsx') && name !== 'main.tsx')
      .filter((name) => /^import (?!type).*from '.*\/client\//m.test(readFileSync(join(root, name), 'utf8')))
    expect(guilty).toEqual([])
  })

  it('load no Plotly before a study asks for it', () => {
    const eager = views.filter((name) =>
      /^import (?!type).*plotly/m.test(readFileSync(join(root, name), 'utf8')),
    )
    expect(eager).toEqual([])
  })
})
