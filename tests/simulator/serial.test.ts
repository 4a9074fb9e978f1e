import { spawnSync } from 'node:child_process'
import { closeSync, constants, createReadStream, existsSync, lstatSync, openSync, writeSync } from 'node:fs'
import { setTimeout as realSleep } from 'node:timers/promises'
import { describe, expect, it } from 'vitest'
import { RealClock } from '../../main/station/clocks/real.ts'
import { startLab } from '../../simulator/lab.ts'

const hasSocat = spawnSync('socat', ['-V'], { stdio: 'ignore' }).status === 0

/** One exchange on a terminal opened for it alone, as a file. */
async function exchange(path: string, line: string): Promise<string> {
  const fd = openSync(path, constants.O_RDWR | constants.O_NOCTTY)
  const reader = createReadStream('', { fd, autoClose: false })
  const answer = new Promise<string>((resolve, reject) => {
    let text = ''
    reader.on('data', (bytes) => {
      text += bytes.toString('latin1')
      if (text.includes('\n')) resolve(text)
    })
    reader.once('error', reject)
  })
  writeSync(fd, line)
  try {
    return await answer
  } finally {
    reader.destroy()
    closeSync(fd)
  }
}

async function until(holds: () => boolean): Promise<void> {
  for (let i = 0; i < 500 && !holds(); i += 1) await realSleep(10)
  expect(holds()).toBe(true)
}

describe.skipIf(!hasSocat)('startLab with serial cables (needs socat)', () => {
  it('answers on a terminal that goes with its port and comes back with it', async () => {
    const lab = await startLab({ seed: 1, clock: new RealClock(), scenario: 'quiet', bus: 'serial' })
    try {
      const link = lab.endpoints[0]!.link
      if (link.kind !== 'serial') throw new Error('serial expected')
      expect(link).toMatchObject({ baud: 9600, dataBits: 8, parity: 'none', stopBits: 1 })
      expect(lab.bench.instruments[0]!.link).toEqual(link)
      expect(await exchange(link.path, '*IDN?\n')).toBe('QUENNICK,RB-8,0817,1.3\n')
      const vanished = lab.fault({ instrument: 'bridge', kind: 'port-vanish', forS: 60 })!
      await until(() => !existsSync(link.path))
      vanished.end()
      await until(() => existsSync(link.path))
      expect(await exchange(link.path, '*IDN?\n')).toBe('QUENNICK,RB-8,0817,1.3\n')
    } finally {
      await lab.close()
    }
    expect(existsSync(lab.endpoints[0]!.link.kind === 'serial' ? lab.endpoints[0]!.link.path : '')).toBe(
      false,
    )
  })

  it('joins the cable again after a dropped connection', async () => {
    const lab = await startLab({ seed: 1, clock: new RealClock(), scenario: 'quiet', bus: 'serial' })
    try {
      const link = lab.endpoints[1]!.link
      if (link.kind !== 'serial') throw new Error('serial expected')
      // socat lays the terminal before its connection stands: only an answer tells that there is one to drop.
      expect(await exchange(link.path, '*IDN?\n')).toBe('QUENNICK,TB-2,2205,1.1\n')
      // The terminal may be away for a moment shorter than any look at it, so the new one is told by its own age.
      const laid = lstatSync(link.path, { bigint: true }).ctimeNs
      lab.fault({ instrument: 'bath', kind: 'connection-drop' })
      await until(() => {
        const now = lstatSync(link.path, { bigint: true, throwIfNoEntry: false })
        return now !== undefined && now.ctimeNs !== laid && existsSync(link.path)
      })
      expect(await exchange(link.path, '*IDN?\n')).toBe('QUENNICK,TB-2,2205,1.1\n')
    } finally {
      await lab.close()
    }
  })
})
