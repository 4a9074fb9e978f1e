// A core small enough to be told what to do: answers pings, echoes on its ports, crashes or hangs when asked.
let hung = false
const ports = []
process.parentPort.on('message', ({ data, ports: given }) => {
  if (hung) return
  if (data.kind === 'window') {
    const port = given[0]
    ports.push(port)
    port.on('message', (event) => {
      if (event.data === 'crash') process.exit(7)
      if (event.data === 'hang') {
        hung = true
        return
      }
      if (event.data === 'run') process.parentPort.postMessage({ kind: 'running', session: 'night-1' })
      if (event.data === 'end') process.parentPort.postMessage({ kind: 'running', session: null })
      port.postMessage(`core ${process.pid} heard ${event.data}`)
    })
    port.start()
  }
  if (data.kind === 'ping') process.parentPort.postMessage({ kind: 'pong', n: data.n })
  if (data.kind === 'stop') {
    process.parentPort.postMessage({ kind: 'stopped' })
    process.exit(0)
  }
})
process.parentPort.postMessage({ kind: 'ready' })
