import { execFile, spawnSync } from 'node:child_process'
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { dirname, join } from 'node:path'
import { promisify } from 'node:util'
import { Validator } from '@seriousme/openapi-schema-validator'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { API_NEEDS } from '../../app/contract/api/index.ts'
import { TOKEN_RIGHTS, type TokenRight } from '../../app/records/api-token.ts'
import { signOffSession } from '../../main/host/issue-certificates.ts'
import { type PageServer, servePage } from '../../main/host/page/server.ts'
import { socketWindows } from '../../main/host/router/index.ts'
import type { Services } from '../../main/host/services.ts'
import { fixtureSession } from '../report/session-fixture.ts'
import { type EmptyHost, openEmptyHost } from './empty-host.ts'
import { blocksOf } from './guide-blocks.ts'
import { enterKeeper, KEEPER } from './keeper.ts'
import { NOTHING_TO_STATE } from './statements.ts'
import { type Client, refusalOf, Windows } from './window.ts'

const SESSION = 'fixture-6'
let host: EmptyHost
let services: Services
let page: PageServer
let client: Client
let base: string
let all: string
const windows = new Windows()
const folder = mkdtempSync(join(tmpdir(), 'stillpoint-api-'))

beforeAll(async () => {
  host = await openEmptyHost(Date.UTC(2026, 2, 20, 8) * 1000)
  ;({ services } = host)
  await enterKeeper(services)
  client = windows.open(services, 'operator')
  const path = services.store.sessionPath(SESSION)
  mkdirSync(dirname(path), { recursive: true })
  const { session } = fixtureSession(path, { seed: 6, setpoints: [0, 50, 100], cell: 'none' }, (setup) => ({
    ...setup,
    job: null,
  }))
  for (const entry of session.setup.register.thermometers) services.store.saveThermometer(entry, 'test', '')
  services.store.registerSession(session)
  session.close()
  writeFileSync(join(folder, 'index.html'), '<!doctype html><title>Stillpoint</title>')
  page = await servePage({ folder, port: 0, ...socketWindows(services) })
  base = `http://127.0.0.1:${page.port}`
  all = await tokenOf([...TOKEN_RIGHTS])
}, 60_000)
afterAll(async () => {
  windows.close()
  await page.close()
  await host.close()
  rmSync(folder, { recursive: true, force: true })
})

const tokenOf = async (rights: TokenRight[], more: { ends?: string } = {}) =>
  (await client.tokens.make({ name: 'Order desk', rights, ...more })).token
const ask = (path: string, token?: string, init: RequestInit = {}) =>
  fetch(`${base}/api/v1${path}`, {
    ...init,
    headers: { ...(token && { Authorization: `Bearer ${token}` }), ...init.headers },
  })
const send = (path: string, body: unknown, token = all) =>
  ask(path, token, {
    method: 'POST',
    body: typeof body === 'string' ? body : JSON.stringify(body),
    headers: { 'Content-Type': 'application/json' },
  })
const wordsOf = async (answer: Response) =>
  ((await answer.json()) as { data?: { words?: string } }).data?.words ?? ''

const order = (number: string, serial = 'N-1') => ({
  number,
  customer: { name: 'Bramblewick Dairy' },
  items: [{ thermometer: { serial, name: 'Vat' }, lowC: 0, highC: 100 }],
})

describe('the text of the interface', () => {
  it('is OpenAPI 3.1 by the published schema, and names every call with its security', async () => {
    const answer = await ask('/openapi.json')
    expect(answer.status).toBe(200)
    const text = (await answer.json()) as {
      openapi: string
      paths: Record<string, Record<string, { operationId: string; summary: string }>>
      security: unknown[]
    }
    expect(text.openapi).toMatch(/^3\.1\./)
    const { valid, errors } = await new Validator().validate(text)
    expect(errors).toBeUndefined()
    expect(valid).toBe(true)
    const calls = Object.values(text.paths).flatMap((path) => Object.values(path))
    expect(calls.map(({ operationId }) => operationId).sort()).toEqual(Object.keys(API_NEEDS).sort())
    for (const { summary } of calls) expect(summary).toBeTruthy()
    expect(text.security).toEqual([{ token: [] }])
  })

  it('is refused by the same validator once a field of it is wrong', async () => {
    const text = (await (await ask('/openapi.json')).json()) as { info: Record<string, unknown> }
    const { title: _title, ...info } = text.info
    expect((await new Validator().validate({ ...text, info })).valid).toBe(false)
  })
})

describe('tokens', () => {
  it('are made and revoked by who sees to the station alone, shown once, kept as hashes, told in the ledger', async () => {
    await services.people.save({ name: 'O. Hand', rights: ['operate'], closed: false }, 'another long one', {
      who: KEEPER.name,
      why: '',
    })
    const hand = windows.open(services, 'operator', 'O. Hand')
    expect((await refusalOf(hand.tokens.make({ name: 'x', rights: ['read-state'] }))).code).toBe('FORBIDDEN')
    const token = await tokenOf(['read-state'])
    const line = (await client.tokens.list()).at(-1)!
    expect(JSON.stringify(await client.tokens.list())).not.toMatch(/sha256/)
    expect(readFileSync(join(host.folder, 'station.db')).includes(token)).toBe(false)
    expect((await ask('/state', token)).status).toBe(200)
    await client.tokens.revoke({ id: line.id, why: 'gone' })
    const refused = await ask('/state', token)
    expect(refused.status).toBe(401)
    expect(refused.headers.get('www-authenticate')).toBe('Bearer')
    expect(services.store.ledger({ subject: line.id }).map(({ who, why }) => [who, why])).toEqual([
      [KEEPER.name, 'gone'],
      [KEEPER.name, 'Token for Order desk: read-state'],
    ])
  })

  it('end with their last day', async () => {
    expect((await ask('/state', await tokenOf(['read-state'], { ends: '2026-03-19' }))).status).toBe(401)
    expect((await ask('/state', await tokenOf(['read-state'], { ends: '2126-03-20' }))).status).toBe(200)
  })

  it('give no more than their right', async () => {
    const paths: Record<string, [TokenRight, () => Promise<Response>]> = {
      state: ['read-state', () => ask('/state', one)],
      list: ['read-orders', () => ask('/orders', one)],
      send: ['send-orders', () => send('/orders', order('R-1'), one)],
      get: ['read-orders', () => ask('/orders/none', one)],
      certificates: ['read-certificates', () => ask('/orders/none/certificates', one)],
      certificate: ['read-certificates', () => ask('/certificates/none/x/pdf', one)],
      sessions: ['read-sessions', () => ask('/sessions', one)],
      points: ['read-sessions', () => ask(`/sessions/${SESSION}/points`, one)],
      readings: ['read-sessions', () => ask(`/sessions/${SESSION}/readings`, one)],
    }
    expect(Object.keys(paths)).toHaveLength(Object.keys(API_NEEDS).length)
    let one = ''
    for (const right of TOKEN_RIGHTS) {
      one = await tokenOf([right])
      for (const [name, [need, call]] of Object.entries(paths)) {
        const { status } = await call()
        if (need === right) expect(status, `${name} with ${right}`).not.toBe(403)
        else expect(status, `${name} with ${right}`).toBe(403)
      }
    }
  })

  it('are asked for, whoever else may be signed in, and never taken from a page of somebody else', async () => {
    expect((await ask('/state')).status).toBe(401)
    expect((await ask('/state', 'sp1_notoneofours_notoneofours')).status).toBe(401)
    const foreign = await ask('/state', all, { headers: { Origin: 'http://elsewhere.example' } })
    expect(foreign.status).toBe(403)
  })
})

describe('orders of another program', () => {
  it('come in whole, find customer and thermometer again, and are told with their states', async () => {
    const first = await send('/orders', order('A-1'))
    expect(first.status).toBe(201)
    const made = (await first.json()) as { items: { thermometer: string; state: string }[] }
    expect(made.items).toMatchObject([{ serial: 'N-1', state: 'received' }])
    const second = (await (await send('/orders', order('A-2'))).json()) as typeof made
    expect(second.items[0]!.thermometer).toBe(made.items[0]!.thermometer)
    expect(services.orders.customers().filter(({ name }) => name === 'Bramblewick Dairy')).toHaveLength(1)
    const other = { ...order('A-3'), customer: { name: 'Molkerei Sendelbach' } }
    const third = (await (await send('/orders', other)).json()) as typeof made
    expect(third.items[0]!.thermometer).not.toBe(made.items[0]!.thermometer)
    const { rows } = (await (await ask('/orders?search=A-2', all)).json()) as { rows: { number: string }[] }
    expect(rows).toMatchObject([{ number: 'A-2', states: { received: 1 } }])
    expect(await (await ask('/orders/A-2', all)).json()).toMatchObject({
      number: 'A-2',
      customer: 'Bramblewick Dairy',
    })
    const ledger = services.store.ledger({}).find(({ what }) => what === 'order saved')
    expect(ledger?.who).toMatch(/^Order desk \(token T-001\)$/)
  })

  it('are refused in words: a number twice, a range upside down, a thermometer twice, a field that is unknown', async () => {
    const twice = await send('/orders', order('A-1'))
    expect([twice.status, ((await twice.json()) as { data: unknown }).data]).toEqual([
      422,
      {
        words: 'There is an order "A-1" already. An order\'s number is taken once.',
        code: 'order-number-taken',
        args: { number: 'A-1' },
      },
    ])
    const item = order('A-9').items[0]!
    const wrong = await send('/orders', { ...order('A-9'), items: [{ ...item, highC: -5 }] })
    expect(await wordsOf(wrong)).toContain('the upper end of the range lies below the lower')
    const doubled = await send('/orders', { ...order('A-9'), items: [item, item] })
    expect(await wordsOf(doubled)).toContain('is in the order twice')
    expect((await send('/orders', { ...order('A-9'), more: 1 })).status).toBe(400)
    expect((await send('/orders', '{ "number": ')).status).toBe(400)
    expect((await ask('/orders/A-9', all)).status).toBe(404)
    expect((await ask('/nothing', all)).status).toBe(404)
  })

  it('are bounded: a large body and too many calls at once are told so, and the station goes on', async () => {
    const large = await send('/orders', { ...order('B-1'), remarks: ['x'.repeat(1_100_000)] })
    expect(large.status).toBe(413)
    const many = await Promise.all(Array.from({ length: 60 }, () => ask(`/sessions/${SESSION}/points`, all)))
    const statuses = new Set(many.map(({ status }) => status))
    expect([...statuses].every((status) => status === 200 || status === 429)).toBe(true)
    expect(statuses).toContain(200)
    expect((await ask('/state', all)).status).toBe(200)
  })
})

describe('the examples of the guide', () => {
  const has = (program: string) => spawnSync(program, ['--version']).status === 0
  const able = has('curl') && has('python3') && process.platform !== 'win32'
  if (!able)
    console.log('The examples of docs/guide/programs.md are not run here: curl or python3 is missing.')

  it.skipIf(!able)(
    'send an order with curl, and fetch states, certificates and readings with Python',
    async () => {
      const env = { ...process.env, STILLPOINT: base, TOKEN: all }
      const run = promisify(execFile)
      const [shell] = blocksOf('programs.md', 'sh')
      const { stdout: sent } = await run('bash', ['-euc', shell!], { env })
      expect(sent).toContain('"phase":"idle"')
      expect(sent).toContain('"number":"2026-118"')

      // What the night and the signer do in between: the item of the order is measured, and the report signed.
      const view = services.orders.list({ search: '2026-118', sort: 'changed', from: 0, most: 1 }).rows[0]!
      const { item } = services.orders.get(view.id).items[0]!
      const act = { who: 'test', why: 'measured' }
      services.orders.move(item.id, 'measured', act, { session: SESSION, thermometer: 'prt-x1' })
      await signOffSession(
        services,
        {
          ...{ session: SESSION, who: KEEPER.name, remark: '', statements: NOTHING_TO_STATE },
          ...{ gapsKnown: true, findingsKnown: true },
        },
        null,
      )

      const [python] = blocksOf('programs.md', 'python')
      const { stdout } = await run('python3', ['-c', python!], { env, cwd: folder })
      const lines = stdout.trim().split('\n')
      expect(lines[0]).toMatch(/ signed$/)
      expect(lines[1]).toMatch(/^2026-000\d\.pdf$/)
      expect(readFileSync(join(folder, lines[1]!)).subarray(0, 5).toString()).toBe('%PDF-')
      expect(lines.filter((line) => /^2026-\S+Z s0 \S+ (ratio|ohm)$/.test(line)).length).toBeGreaterThan(0)
    },
    60_000,
  )
})
