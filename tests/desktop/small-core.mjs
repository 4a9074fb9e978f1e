import { existsSync, mkdirSync, rmSync, writeFileSync } from 'node:fs'
import { dirname } from 'node:path'

// A core small enough to be told what to do: answers pings, echoes on its ports, crashes, hangs, or refuses to start.
// What it was told of passwords and power is written beside its data folder's name.
const folder = process.argv[process.argv.indexOf('--data') + 1]
const told = []
let hung = false
const ports = []
process.parentPort.on('message', ({ data, ports: given }) => {
  if (hung) return
  if (data.kind === 'secret' || data.kind === 'power') {
    told.push(data)
    mkdirSync(dirname(folder), { recursive: true })
    writeFileSync(`${folder}.told.json`, JSON.stringify(told))
  }
  if (data.kind === 'window') {
    const port = given[0]
    ports.push(port)
    port.on('message', (event) => {
      if (event.data === 'crash') process.exit(7)
      if (event.data === 'hang') {
        hung = true
        return
      }
      if (event.data === 'abort') process.abort()
      if (event.data === 'run') process.parentPort.postMessage({ kind: 'running', session: 'night-1' })
      if (event.data === 'end') process.parentPort.postMessage({ kind: 'running', session: null })
      port.postMessage(`core ${process.pid} heard ${event.data}`)
    })
    port.start()
  }
  if (data.kind === 'ping') process.parentPort.postMessage({ kind: 'pong', n: data.n })
  if (data.kind === 'stop' && existsSync(`${folder}.slow`)) {
    // A bath that takes its time: told over and over, until the file is gone.
    setInterval(() => {
      process.parentPort.postMessage({
        kind: 'leaving',
        words: 'the bath goes to its safe setpoint of 20 degC',
      })
      if (!existsSync(`${folder}.slow`)) process.exit(0)
    }, 50)
  } else if (data.kind === 'stop') {
    process.parentPort.postMessage({ kind: 'stopped' })
    process.exit(0)
  }
})
if (existsSync(`${folder}.refuse`)) {
  rmSync(`${folder}.refuse`)
  process.parentPort.postMessage({ kind: 'refused', words: 'The folder is in use.' })
  setTimeout(() => process.exit(1), 50)
} else {
  process.parentPort.postMessage({ kind: 'need-secret', name: 'smtp-password' })
  process.parentPort.postMessage({ kind: 'need-secret', name: 'key-password' })
  process.parentPort.postMessage({ kind: 'ready' })
}
