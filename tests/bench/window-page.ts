/** The page's side of the window's bench: the window's own code, called from outside by name. */
import Plotly from 'plotly.js-dist-min'
import { unpackColumns } from '../../app/contract/columns.ts'
import { LiveBoard } from '../../renderer/live/board.ts'
import { PlotPane } from '../../renderer/plots/pane.ts'

const CHANNELS = 96
const ids = Array.from({ length: CHANNELS }, (_, i) => `ch-${i}`)

/** Takes messages of readings from a socket into a board until `count` readings came; ms. */
function receive(url: string, kind: 'columns' | 'json', count: number): Promise<number> {
  return new Promise((resolve, reject) => {
    const board = new LiveBoard()
    const socket = new WebSocket(`${url}?${kind}`)
    socket.binaryType = 'arraybuffer'
    let taken = 0
    let start = 0
    socket.onerror = () => reject(new Error('the socket failed'))
    socket.onmessage = ({ data }) => {
      start ||= performance.now()
      if (kind === 'columns') {
        const { columns, meta } = unpackColumns(data as ArrayBuffer)
        taken += board.take(columns, meta)
      } else {
        const readings = JSON.parse(data as string) as {
          seq: number
          channel: string
          utcS: number
          monoS: number
          raw: number
          resistance: number
          temperature: number
          marks: string[]
        }[]
        for (const r of readings) {
          board.ring(r.channel).push(r.utcS, r.raw, r.resistance, r.temperature, r.marks.length)
          taken++
        }
      }
      if (taken < count) return
      socket.close()
      resolve(performance.now() - start)
    }
  })
}

function fill(board: LiveBoard, from: number, to: number, rateHz: number): void {
  for (let k = Math.round(from * rateHz); k < to * rateHz; k++) {
    const t = 1_700_000_000 + k / rateHz
    for (let c = 0; c < CHANNELS; c++) {
      const value = 100 + 0.001 * Math.sin(k / 97 + c) + 0.0002 * Math.sin(k * 7.7 + c)
      board.ring(ids[c]!).push(t, value / 100, value, value, 0)
    }
    board.newestTime = t
  }
}

function makePane(board: LiveBoard): PlotPane {
  const host = document.createElement('div')
  host.style.cssText = 'width:900px;height:600px'
  document.body.append(host)
  return new PlotPane(
    host,
    board,
    {
      lines: ids.map((channel, look) => ({ channel, name: channel, look })),
      shown: 'temperature',
      unit: 'degC',
      base: null,
      axis: 'shared',
    },
    { setpointAt: () => 100, onZoom: () => undefined, onSelect: () => undefined, onCursor: () => undefined },
  )
}

const nextFrame = () => new Promise((resolve) => requestAnimationFrame(resolve))

/** Ms an update of 96 channels with 2000 readings each takes, ours and Plotly's extendTraces. */
async function update(rounds: number): Promise<{ ours: number; plotly: number; painted: number }> {
  const board = new LiveBoard()
  fill(board, 0, 200, 10)
  const pane = makePane(board)
  const paint = () => pane.paint({ from: board.newestTime - 200, to: board.newestTime })
  paint()
  await nextFrame()
  let spent = 0
  let painted = 0
  for (let i = 0; i < rounds; i++) {
    fill(board, 200 + i * 0.1, 200 + (i + 1) * 0.1, 10)
    const start = performance.now()
    paint()
    spent += performance.now() - start
    await nextFrame()
    painted++
  }
  pane.dispose()

  const host = document.createElement('div')
  host.style.cssText = 'width:900px;height:600px'
  document.body.append(host)
  const x = Array.from({ length: 2000 }, (_, i) => i)
  await Plotly.newPlot(
    host,
    ids.map((name, c) => ({
      type: 'scatter' as const,
      mode: 'lines' as const,
      name,
      x: [...x],
      y: x.map((k) => Math.sin(k / 97 + c)),
    })),
    { width: 900, height: 600, showlegend: false },
    { staticPlot: true },
  )
  const all = ids.map((_, c) => c)
  const few = Math.max(3, Math.floor(rounds / 10))
  const start = performance.now()
  for (let i = 0; i < few; i++)
    await Plotly.extendTraces(
      host,
      { x: all.map(() => [2000 + i]), y: all.map(() => [Math.sin(i)]) },
      all,
      2000,
    )
  const plotly = (performance.now() - start) / few
  Plotly.purge(host)
  host.remove()
  return { ours: spent / rounds, plotly, painted }
}

/** Ms Plotly takes to draw anew what a study hands over: a fit's points and band, or a night of 600 buckets. */
async function study(): Promise<number> {
  const host = document.createElement('div')
  host.style.cssText = 'width:700px;height:300px'
  document.body.append(host)
  const x = Array.from({ length: 1200 }, (_, i) => i)
  const draw = (k: number) =>
    Plotly.react(
      host,
      [{ type: 'scatter', mode: 'lines', x, y: x.map((v) => Math.sin((v + k) / 50)) }],
      { width: 700, height: 300, datarevision: k },
      { staticPlot: true },
    )
  await draw(0)
  const times: number[] = []
  for (let k = 1; k <= 15; k++) {
    const start = performance.now()
    await draw(k)
    times.push(performance.now() - start)
  }
  Plotly.purge(host)
  host.remove()
  return times.sort((a, b) => a - b)[7]!
}

const day = { board: new LiveBoard(), pane: undefined as PlotPane | undefined }

/** Feeds a stretch of a day, painting once a minute of data; hours. */
async function feed(fromH: number, toH: number): Promise<void> {
  day.pane ??= makePane(day.board)
  for (let s = fromH * 3600; s < toH * 3600; s += 60) {
    fill(day.board, s, s + 60, 10)
    day.pane.paint({ from: day.board.newestTime - 900, to: day.board.newestTime })
    if (s % 3600 === 0) await nextFrame()
  }
}

Object.assign(window, { bench: { receive, update, study, feed } })
