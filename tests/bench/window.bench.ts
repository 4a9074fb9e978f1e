import { once } from 'node:events'
import { createServer } from 'node:http'
import type { AddressInfo } from 'node:net'
import { setTimeout as sleep } from 'node:timers/promises'
import { fileURLToPath } from 'node:url'
import type { Browser, Page } from 'playwright'
import { build } from 'vite'
import { WebSocketServer } from 'ws'
import { packColumns } from '../../app/contract/columns.ts'
import { ensurePage } from '../../main/host/built.ts'
import { launchChromium } from '../browser/chromium.ts'
import { startFake } from '../browser/fake-station.ts'
import type { Row } from './row.ts'

const CHANNELS = 96
const PER_MESSAGE = 930
const MESSAGES = 400
const READINGS = PER_MESSAGE * MESSAGES
const MINUTE_MS = 60_000
const MEGABYTE = 2 ** 20

/** LIMITS, 'To the window' and 'Plots', measured in Chromium. */
export async function bench(): Promise<Row[]> {
  ensurePage()
  const script = await bundlePage()
  const server = await serveReadings()
  const browser = await launchChromium()
  try {
    const open = () => openBenchPage(browser, server.origin, script)
    // The short ones first, and each with an end: a machine that others use may take minutes over one of them.
    return [
      ...(await within('first useful view', 60, () => firstView(browser))),
      ...(await within('change of place', 60, () => changeOfPlace(browser))),
      ...(await within('Plotly redraw of a study', 30, async () => [await studies(await open())])),
      ...(await within('readings core to page', 60, async () => [
        await transport(await open(), server.socket),
      ])),
      ...(await within('update of a live view', 60, async () => updates(await open()))),
      ...(await within('reading to paint', 100, () => live(browser))),
      ...(await within('memory grown', 90, async () => [await memory(await open())])),
    ]
  } finally {
    await browser.close()
    await server.close()
  }
}

/** The rows of one part, or one that says that it did not end in time. */
async function within(name: string, mostS: number, part: () => Promise<Row[]>): Promise<Row[]> {
  const late = Symbol('late')
  const timer = new AbortController()
  const rows = await Promise.race([
    part(),
    sleep(mostS * 1000, late, { signal: timer.signal, ref: false }).catch(() => late),
  ])
  timer.abort()
  if (typeof rows !== 'symbol') return rows
  const said = { unit: 's', goal: `an end within ${mostS} s`, met: false }
  return [
    {
      name,
      ours: mostS,
      other: mostS,
      ratio: 1,
      ...said,
      note: 'it was given up: the machine was too busy for it',
    },
  ]
}

async function bundlePage(): Promise<string> {
  const result = await build({
    configFile: false,
    logLevel: 'error',
    build: {
      write: false,
      minify: false,
      chunkSizeWarningLimit: 10_000,
      lib: {
        entry: fileURLToPath(new URL('window-page.ts', import.meta.url)),
        formats: ['iife'],
        name: 'windowBench',
      },
    },
  })
  const [first] = Array.isArray(result) ? result : [result]
  if (!first || !('output' in first)) throw new Error('The bench page could not be built.')
  return first.output[0].code
}

/** A blank page and a socket that sends the same readings as columns or as objects. */
async function serveReadings(): Promise<{ origin: string; socket: string; close(): Promise<void> }> {
  const http = createServer((_, response) => {
    response.writeHead(200, { 'Content-Type': 'text/html' })
    response.end('<!doctype html><title>bench</title><body></body>')
  })
  const sockets = new WebSocketServer({ server: http, perMessageDeflate: false })
  sockets.on('connection', (socket, request) => {
    const kind = new URL(request.url ?? '', 'http://x').search.slice(1)
    for (let m = 0; m < MESSAGES; m++) socket.send(kind === 'columns' ? columns(m) : json(m))
  })
  http.listen(0, '127.0.0.1')
  await once(http, 'listening')
  const { port } = http.address() as AddressInfo
  return {
    origin: `http://127.0.0.1:${port}/`,
    socket: `ws://127.0.0.1:${port}/`,
    async close() {
      for (const client of sockets.clients) client.terminate()
      http.closeAllConnections()
      http.close()
    },
  }
}

const ids = Array.from({ length: CHANNELS }, (_, i) => `ch-${i}`)
const sineAt = (n: number) => 100 + Math.sin(n / 91) * 0.01

function columns(message: number): Uint8Array {
  const seq = new Uint32Array(PER_MESSAGE)
  const channel = new Uint8Array(PER_MESSAGE)
  const marks = new Uint32Array(PER_MESSAGE)
  const fields = Array.from({ length: 5 }, () => new Float64Array(PER_MESSAGE))
  const [utcS, monoS, raw, resistance, temperature] = fields as [
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
  ]
  for (let i = 0; i < PER_MESSAGE; i++) {
    const n = message * PER_MESSAGE + i
    seq[i] = n + 1
    channel[i] = n % CHANNELS
    utcS[i] = 1.7e9 + n / 960
    monoS[i] = n / 960
    raw[i] = sineAt(n) / 100
    resistance[i] = sineAt(n)
    temperature[i] = sineAt(n)
  }
  return packColumns(
    { seq, channel, utcS, monoS, raw, resistance, temperature, marks },
    { session: 's', channels: ids, last: (message + 1) * PER_MESSAGE },
  )
}

function json(message: number): string {
  return JSON.stringify(
    Array.from({ length: PER_MESSAGE }, (_, i) => {
      const n = message * PER_MESSAGE + i
      return {
        seq: n + 1,
        channel: ids[n % CHANNELS],
        utcS: 1.7e9 + n / 960,
        monoS: n / 960,
        raw: sineAt(n) / 100,
        resistance: sineAt(n),
        temperature: sineAt(n),
        marks: [],
      }
    }),
  )
}

async function openBenchPage(browser: Browser, origin: string, script: string): Promise<Page> {
  const page = await browser.newPage()
  await page.goto(origin)
  await page.addScriptTag({ content: script })
  return page
}

/** Calls a function of the bench page by name. */
function call<T>(page: Page, name: string, ...args: unknown[]): Promise<T> {
  return page.evaluate(
    ([fn, list]) =>
      (window as unknown as { bench: Record<string, (...a: unknown[]) => unknown> }).bench[fn as string]!(
        ...(list as unknown[]),
      ),
    [name, args] as const,
  ) as Promise<T>
}

const median = (values: number[]) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)]!
const quantile = (values: number[], p: number) =>
  [...values].sort((a, b) => a - b)[Math.min(values.length - 1, Math.floor(values.length * p))] ?? Number.NaN

async function transport(page: Page, socket: string): Promise<Row> {
  const ours: number[] = []
  const other: number[] = []
  for (let round = 0; round < 5; round++) {
    ours.push(await call<number>(page, 'receive', socket, 'columns', READINGS))
    other.push(await call<number>(page, 'receive', socket, 'json', READINGS))
  }
  const fast = READINGS / (median(ours) / 1000)
  const slow = READINGS / (median(other) / 1000)
  return {
    name: 'readings core to page',
    ours: fast,
    other: slow,
    unit: '1/s',
    ratio: fast / slow,
    goal: '>= 2.5 x JSON objects',
    met: fast / slow >= 2.5,
    note: `${PER_MESSAGE} per message over a WebSocket on loopback, packed, sent, unpacked and taken into the rings`,
  }
}

async function updates(page: Page): Promise<Row[]> {
  const { ours, plotly, painted } = await call<{ ours: number; plotly: number; painted: number }>(
    page,
    'update',
    60,
  )
  return [
    {
      name: 'update of a live view, 96 channels x 2000',
      ours,
      other: plotly,
      unit: 'ms',
      ratio: plotly / ours,
      goal: ">= 6 x Plotly's extendTraces",
      met: plotly / ours >= 6,
    },
    {
      name: 'updates painted of 60',
      ours: painted,
      other: 60,
      unit: '1',
      ratio: painted / 60,
      goal: 'every one',
      met: painted === 60,
    },
  ]
}

async function studies(page: Page): Promise<Row> {
  const ms = await call<number>(page, 'study')
  return {
    name: 'Plotly redraw of a study',
    ours: ms,
    other: 50,
    unit: 'ms',
    ratio: 50 / ms,
    goal: 'under 50 ms',
    met: ms < 50,
    note: 'one session of 600 buckets with both extremes',
  }
}

async function memory(page: Page): Promise<Row> {
  const session = await page.context().newCDPSession(page)
  const used = async () => {
    await session.send('HeapProfiler.collectGarbage')
    const heap = (await session.send('Runtime.getHeapUsage')) as {
      usedSize: number
      embedderHeapUsedSize?: number
      backingStorageSize?: number
    }
    return heap.usedSize + (heap.embedderHeapUsedSize ?? 0) + (heap.backingStorageSize ?? 0)
  }
  await call(page, 'feed', 0, 1)
  const before = await used()
  for (let hour = 1; hour < 24; hour++) await call(page, 'feed', hour, hour + 1)
  const grown = ((await used()) - before) / MEGABYTE
  return {
    name: 'memory grown from hour 1 to hour 24',
    ours: grown,
    other: 20,
    unit: 'MB',
    ratio: grown / 20,
    goal: 'under 20 MB',
    met: grown < 20,
    note: '96 channels at 10 readings/s, 83 million readings fed through rings and plot',
  }
}

async function live(browser: Browser): Promise<Row[]> {
  const fake = await startFake({ scene: 'running', channels: CHANNELS, rateHz: 10 })
  const page = await browser.newPage()
  await page.goto(fake.address)
  await page.waitForSelector('.readout')
  await page.waitForTimeout(5000)
  await browser.startTracing(page, { categories: ['toplevel'] })
  await page.waitForTimeout(500)
  const { delays, long } = await page.evaluate(async (ms) => {
    const delays: number[] = []
    const long: number[] = []
    const observer = new PerformanceObserver((list) => {
      for (const entry of list.getEntries()) {
        if (entry.entryType === 'longtask') long.push(entry.duration)
        else if (entry.name === 'reading-to-paint') delays.push(entry.duration)
      }
    })
    observer.observe({ entryTypes: ['measure', 'longtask'] })
    await new Promise((resolve) => setTimeout(resolve, ms))
    observer.disconnect()
    return { delays, long }
  }, MINUTE_MS)
  const costliest = costliestTask(await browser.stopTracing())
  await page.close()
  await fake.close()
  const p99 = quantile(delays, 0.99)
  return [
    {
      name: 'reading to paint, p99',
      ours: p99,
      other: 100,
      unit: 'ms',
      ratio: p99 / 100,
      goal: 'under 100 ms',
      met: p99 < 100,
      note: `${delays.length} arrivals in a minute, 96 channels at 10 readings/s, median ${median(delays).toFixed(0)} ms`,
    },
    {
      name: 'long tasks over 50 ms in a minute',
      ours: long.length,
      other: 0,
      unit: '1',
      ratio: long.length,
      goal: '0',
      met: long.length === 0,
      note: `the longest took ${Math.max(0, ...long).toFixed(0)} ms; the costliest of all tasks took ${costliest.toFixed(0)} ms of processor time, the rest is waiting for a machine that others use too`,
    },
  ]
}

interface TraceEvent {
  pid: number
  tid: number
  ph: string
  name: string
  /** Processor time of the thread, us. */
  tdur?: number
  args?: { name?: string }
}

/** Most processor time that a task of the page's main thread took, ms. */
function costliestTask(trace: Buffer): number {
  const { traceEvents } = JSON.parse(trace.toString()) as { traceEvents: TraceEvent[] }
  const thread = ({ pid, tid }: TraceEvent) => `${pid}/${tid}`
  const mains = new Set(
    traceEvents
      .filter(({ ph, name, args }) => ph === 'M' && name === 'thread_name' && args?.name === 'CrRendererMain')
      .map(thread),
  )
  return traceEvents
    .filter((event) => event.ph === 'X' && mains.has(thread(event)))
    .reduce((most, { tdur = 0 }) => Math.max(most, tdur / 1000), 0)
}

const PLACES = ['Bench', 'Plan', 'Points', 'Archive', 'Register', 'Wire', 'Watch'] as const

/** From the key to the next frame with another place in it, each place for the second time: its code is there by then. */
async function changeOfPlace(browser: Browser): Promise<Row[]> {
  const fake = await startFake({ scene: 'running', channels: CHANNELS, rateHz: 10 })
  const page = await browser.newPage()
  await page.goto(fake.address)
  await page.waitForSelector('.readout')
  const rail = page.getByRole('navigation').first()
  const times: { place: string; ms: number }[] = []
  for (let round = 0; round < 4; round++)
    for (const place of PLACES) {
      await page.waitForTimeout(300)
      const ms = await rail.getByText(place, { exact: true }).evaluate(
        (element) =>
          new Promise<number>((resolve) => {
            const main = document.querySelector('main')!
            const start = performance.now()
            const observer = new MutationObserver(() => {
              observer.disconnect()
              requestAnimationFrame(() => setTimeout(() => resolve(performance.now() - start)))
            })
            observer.observe(main, { childList: true, subtree: true })
            ;(element.closest('a, button') as HTMLElement).click()
          }),
      )
      if (round > 0) times.push({ place, ms })
    }
  await page.close()
  await fake.close()
  const ms = median(times.map((t) => t.ms))
  const slowest = times.reduce((a, b) => (b.ms > a.ms ? b : a))
  return [
    {
      name: 'change of place',
      ours: ms,
      other: 100,
      unit: 'ms',
      ratio: ms / 100,
      goal: 'under 100 ms',
      met: ms < 100,
      note: `${times.length} changes while 96 channels are measured at 10 readings/s; p90 ${quantile(
        times.map((t) => t.ms),
        0.9,
      ).toFixed(0)} ms, the slowest to ${slowest.place}, ${slowest.ms.toFixed(0)} ms`,
    },
  ]
}

async function firstView(browser: Browser): Promise<Row[]> {
  const fake = await startFake({ scene: 'running', channels: 96, rateHz: 10 })
  const times: number[] = []
  for (let round = 0; round < 5; round++) {
    const context = await browser.newContext()
    const page = await context.newPage()
    await page.goto(fake.address, { waitUntil: 'commit' })
    await page.waitForFunction(() =>
      /\d/.test(document.querySelector('.readout .digits-strong')?.textContent ?? ''),
    )
    times.push(await page.evaluate(() => performance.now()))
    await context.close()
  }
  await fake.close()
  const ms = median(times)
  return [
    {
      name: 'first useful view',
      ours: ms,
      other: 1500,
      unit: 'ms',
      ratio: ms / 1500,
      goal: 'under 1500 ms',
      met: ms < 1500,
      note: 'from the start of the page to the first number on Watch, while 96 channels are measured; Plotly is not loaded by then',
    },
  ]
}
