import { mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { createServer } from 'node:http'
import type { AddressInfo } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { gunzipSync } from 'node:zlib'
import { afterAll, beforeAll, expect, it, vi } from 'vitest'
import { asTold } from '../../app/messages/said.ts'
import { servePage } from '../../main/host/page/server.ts'
import { socketWindows } from '../../main/host/router/index.ts'
import { type EmptyHost, openEmptyHost } from './empty-host.ts'
import { refusalOf, Windows } from './window.ts'

// Secrets are planted where a station has to know them, used, and looked for wherever anything is kept or shown.

const SECRETS = {
  STILLPOINT_SMTP_PASSWORD: 'hush-of-the-mail-server',
  STILLPOINT_WEBHOOK_TOKEN: 'hush-of-the-webhook',
  STILLPOINT_MQTT_PASSWORD: 'hush-of-the-broker',
  PGPASSWORD: 'hush-of-the-database',
  person: 'hush-of-the-person',
  signingKey: 'hush-of-the-signing-key',
} as const
const ENVIRONMENT = Object.keys(SECRETS).filter((name) => /^[A-Z_]+$/.test(name))

let host: EmptyHost
const windows = new Windows()
const before = new Map(ENVIRONMENT.map((name) => [name, process.env[name]]))
const backupFolder = mkdtempSync(join(tmpdir(), 'stillpoint-copies-'))
/** What a window was told, and what the page served. */
const shown: string[] = []

beforeAll(async () => {
  for (const name of ENVIRONMENT) process.env[name] = SECRETS[name as keyof typeof SECRETS]
  host = await openEmptyHost()
})
afterAll(async () => {
  windows.close()
  await host.close()
  rmSync(backupFolder, { recursive: true, force: true })
  for (const [name, value] of before)
    if (value === undefined) delete process.env[name]
    else process.env[name] = value
})

const bytesIn = (folder: string): Buffer[] =>
  readdirSync(folder, { recursive: true, encoding: 'utf8' })
    .map((name) => join(folder, name))
    .filter((path) => statSync(path).isFile())
    .map((path) => readFileSync(path))

/** As it is, and as headers and addresses carry it. */
const forms = (secret: string) => [
  secret,
  Buffer.from(secret).toString('base64').replaceAll('=', ''),
  Buffer.from(secret).toString('hex'),
]

it('keeps and shows none of six secrets that it works with', async () => {
  const { services, hosted, clock } = host
  const told: string[] = []
  const hook = createServer((request, response) => {
    told.push(request.headers.authorization ?? '')
    response.writeHead(500).end('no')
  })
  await new Promise<void>((resolve) => hook.listen(0, '127.0.0.1', resolve))
  const hookPort = (hook.address() as AddressInfo).port
  // Nobody answers there: what is said about that is logged.
  const nobody = await new Promise<number>((resolve) => {
    const server = createServer().listen(0, '127.0.0.1', () => {
      const { port } = server.address() as AddressInfo
      server.close(() => resolve(port))
    })
  })

  const client = windows.open(services, 'operator', 'H. Keeper')
  const { token } = await client.people.enterFirst({ name: 'H. Keeper', password: SECRETS.person })
  await client.people.signIn({ name: 'H. Keeper', password: SECRETS.person })
  expect((await refusalOf(client.people.signIn({ name: 'H. Keeper', password: 'wrong' }))).code).toBe(
    'FORBIDDEN',
  )
  await client.settings.save({
    settings: {
      ...(await client.settings.get()),
      backupFolder,
      forward: {
        mqtt: { url: `mqtt://bench@127.0.0.1:${nobody}`, topic: 't' },
        postgres: { url: `postgres://bench@127.0.0.1:${nobody}/lab` },
      },
    },
  })
  const rules = await client.alarms.rules()
  await client.alarms.saveRules({
    rules: {
      ...{ ...rules, groupS: 0 },
      email: {
        ...{ host: '127.0.0.1', port: nobody, from: 'a@lab.test', to: ['b@lab.test'] },
        ...{ user: 'bench', withoutTls: true },
      },
      webhook: { url: `http://127.0.0.1:${hookPort}/` },
    },
  })
  await client.bench.startLab({ seed: 1, scenario: 'quiet' })
  const { session } = await client.run.record({ name: 'Night' })
  hosted.station.alarms.raise({
    ...{ key: 'x', kind: 'link', severity: 'alarm', subject: null, said: asTold('The bath is silent.') },
  })
  await clock.sleep(60_000)
  await vi.waitFor(() => expect(told.length).toBeGreaterThan(0), { timeout: 20_000 })
  expect(told[0]).toBe(`Bearer ${SECRETS.STILLPOINT_WEBHOOK_TOKEN}`)
  await client.run.stop({ why: 'enough' })
  await hosted.station.finished
  await expect(
    services.signing.take(new Uint8Array([1, 2, 3]), SECRETS.signingKey, 'H. Keeper'),
  ).rejects.toThrow()
  await client.archive.backupAll()

  const bundle = gunzipSync(Buffer.from(await (await client.station.support()).arrayBuffer()))
  const folder = mkdtempSync(join(tmpdir(), 'stillpoint-page-'))
  writeFileSync(join(folder, 'index.html'), '<!doctype html><title>Stillpoint</title>')
  const page = await servePage({ folder, port: 0, ...socketWindows(services) })
  for (const path of ['', 'index.html', 'session', 'rpc', 'station.db', '../station.db'])
    shown.push(await (await fetch(`http://127.0.0.1:${page.port}/${path}`)).text())
  await page.close()
  rmSync(folder, { recursive: true, force: true })
  for (const window of [client, windows.open(services, 'watcher')])
    shown.push(
      JSON.stringify([
        ...[await window.station.state(), await window.settings.get(), await window.alarms.rules()],
        ...[await window.settings.forwarding(), await window.alarms.list({})],
        ...[await window.register.ledger({}), await window.history.events({ session })],
        ...(await window.register.ledger({})).rows.map(({ n }) => n),
      ]),
    )
  hosted.flushLog()
  hook.close()

  const kept = [
    ...bytesIn(host.folder),
    ...bytesIn(backupFolder),
    bundle,
    ...shown.map((text) => Buffer.from(text)),
  ]
  expect(kept.length).toBeGreaterThan(10)
  // What is looked through does hold what it should: the name of the person, the words of the alarm.
  expect(kept.some((bytes) => bytes.includes('H. Keeper'))).toBe(true)
  const secrets = [...Object.values(SECRETS), token]
  for (const secret of secrets)
    for (const form of forms(secret))
      expect(kept.filter((bytes) => bytes.includes(form)).length, secret).toBe(0)
}, 120_000)
