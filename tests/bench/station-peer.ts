/** Meters in a process of their own: each port answers `READ? n` at once with a number of its input. */
import { createServer } from 'node:net'

const METERS = Number(process.argv[2] ?? 12)
const ports: number[] = []
for (let meter = 0; meter < METERS; meter++) {
  let count = 0
  const server = createServer((socket) => {
    socket.setNoDelay(true)
    let held = ''
    socket.on('error', () => undefined)
    socket.on('data', (bytes) => {
      held += bytes.toString('latin1')
      let answer = ''
      for (let end = held.indexOf('\n'); end >= 0; end = held.indexOf('\n')) {
        const line = held.slice(0, end)
        held = held.slice(end + 1)
        if (line === '*IDN?') answer += `QUENNICK,BENCH,${meter},1\n`
        else if (line.startsWith('READ?'))
          answer += `+${(100 + (++count % 1000) / 1e4).toFixed(6)}E+00,${line.slice(6)}\n`
      }
      if (answer !== '') socket.write(answer, 'latin1')
    })
  })
  server.listen(0, '127.0.0.1', () => {
    const address = server.address()
    if (typeof address === 'object' && address) ports.push(address.port)
    if (ports.length === METERS) process.send?.(ports)
  })
}
process.on('disconnect', () => process.exit())
