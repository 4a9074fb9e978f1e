/** A process that does nothing, beside the one that is judged: what it is silent for, the machine is. */
import { monitorEventLoopDelay } from 'node:perf_hooks'

const loop = monitorEventLoopDelay({ resolution: 5 })
loop.enable()
setInterval(() => {
  process.send?.(loop.max / 1e6)
  loop.reset()
}, 1000)
process.on('disconnect', () => process.exit())
