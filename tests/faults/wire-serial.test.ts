import { type ChildProcess, spawn, spawnSync } from 'node:child_process'
import { existsSync, mkdtempSync, rmSync, symlinkSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { SerialPort } from 'serialport'
import { afterAll, afterEach, describe, expect, it } from 'vitest'
import type { Bath } from '../../app/instruments/faces.ts'
import { loadProfiles, openInstrument } from '../../drivers/index.ts'
import { serialConnect } from '../../drivers/link/serial.ts'
import { explainSerial } from '../../drivers/link/serial-faults.ts'
import { candidatePaths, type SerialPortInfo } from '../../drivers/link/serial-ports.ts'
import { RealClock } from '../../main/station/clocks/real.ts'
import { ScaledClock } from '../../main/station/clocks/scaled.ts'
import { openLab } from '../drivers/lab.ts'

const hasSocat = spawnSync('socat', ['-V']).status === 0
const pairs = hasSocat ? describe : describe.skip
if (!hasSocat) console.warn('skipped: socat, which makes pairs of serial ports, is not installed')

const profiles = await loadProfiles()
const clock = new RealClock()
const folder = mkdtempSync(join(tmpdir(), 'stillpoint-serial-'))
const running = new Set<ChildProcess>()
afterEach(() => {
  for (const child of running) child.kill('SIGKILL')
  running.clear()
})
afterAll(() => rmSync(folder, { recursive: true, force: true }))

/** A pair of ports with a bath controller at the far end that remembers its setpoint over unplugs. */
class Plug {
  readonly path: string
  readonly heard: string[] = []
  #socat: ChildProcess | undefined
  #far: SerialPort | undefined
  readonly memory: { setpoint: string; serial: string }

  constructor(name: string, memory = { setpoint: '25.000', serial: '1' }) {
    this.path = join(folder, name)
    this.memory = memory
  }

  async plugIn(): Promise<void> {
    const far = `${this.path}-far`
    this.#socat = spawn('socat', [`pty,raw,echo=0,link=${this.path}`, `pty,raw,echo=0,link=${far}`], {
      stdio: 'ignore',
    })
    running.add(this.#socat)
    while (!existsSync(this.path) || !existsSync(far)) await clock.sleep(5)
    const port = new SerialPort({ path: far, baudRate: 19_200 })
    this.#far = port
    let held = ''
    port.on('error', () => {})
    port.on('data', (chunk: Buffer) => {
      held += chunk.toString('latin1')
      const lines = held.split('\n')
      held = lines.pop() ?? ''
      for (const line of lines) {
        this.heard.push(line)
        const reply = this.#answer(line)
        if (reply !== undefined) port.write(`${reply}\n`)
      }
    })
  }

  async pullOut(): Promise<void> {
    const socat = this.#socat
    if (socat === undefined) return
    const gone = new Promise((resolve) => socat.once('exit', resolve))
    socat.kill('SIGKILL')
    await gone
    running.delete(socat)
    rmSync(this.path, { force: true })
    rmSync(`${this.path}-far`, { force: true })
    this.#far?.destroy()
  }

  #answer(line: string): string | undefined {
    if (line === '*IDN?') return `QUENNICK,TB-2,${this.memory.serial},1.1`
    if (line === '*ESR?') return '0'
    if (line === 'SOUR:TEMP:SPO?') return this.memory.setpoint
    if (line === 'SENS:TEMP?') return '24.998'
    const set = /^SOUR:TEMP:SPO (\S+)$/.exec(line)
    if (set !== null) this.memory.setpoint = set[1]!
    return undefined
  }
}

function bathAt(path: string): Bath {
  const spec = {
    id: 'bath',
    name: 'bath',
    profile: 'lab-tb-2',
    link: { kind: 'serial' as const, path, baud: 19_200 },
  }
  return openInstrument({ spec, clock, profiles, random: () => 0 }) as Bath
}

async function until(what: () => boolean, longestMs = 8000): Promise<void> {
  const start = performance.now()
  while (!what()) {
    if (performance.now() - start > longestMs) throw new Error('waited too long')
    await clock.sleep(10)
  }
}

pairs('an instrument on a serial port', () => {
  it('is opened, asked and set', async () => {
    const plug = new Plug('plain')
    await plug.plugIn()
    const bath = bathAt(plug.path)
    expect((await bath.open()).serial).toBe('1')
    await bath.setSetpoint(50)
    expect(await bath.readSetpoint()).toMatchObject({ value: '50.000', unit: 'degC', marks: [] })
    await bath.close()
  })

  it('refuses a second owner of the same port in this program, in words', async () => {
    const plug = new Plug('twice')
    await plug.plugIn()
    const [first, second] = [bathAt(plug.path), bathAt(plug.path)]
    await first.open()
    await expect(second.open()).rejects.toThrow(/is in use by bath/)
    await second.close()
    await first.close()
  })

  it('notices an unplug at once, refuses orders meanwhile, and never sends them when it comes back', async () => {
    const plug = new Plug('unplugged')
    await plug.plugIn()
    const bath = bathAt(plug.path)
    await bath.open()
    await bath.setSetpoint(40)
    await plug.pullOut()
    await until(() => bath.status.state === 'lost')
    for (const celsius of [60, 70, 80])
      await expect(bath.setSetpoint(celsius)).rejects.toMatchObject({ code: 'lost' })
    expect((await bath.readTemperature()).marks).toEqual(['silent'])
    await plug.plugIn()
    await until(() => bath.status.state === 'ready')
    expect(await bath.readSetpoint()).toMatchObject({ value: '40.000', marks: ['gap-before'] })
    expect(plug.heard.filter((line) => /SPO [678]0/.test(line))).toEqual([])
    await bath.close()
  })

  it('survives a storm of unplugs, at any moment, without a command from before', async () => {
    const plug = new Plug('storm')
    await plug.plugIn()
    const bath = bathAt(plug.path)
    await bath.open()
    let sequence = 0
    let confirmed = 25
    for (let round = 0; round < 8; round++) {
      const celsius = 30 + ++sequence
      const order = bath.setSetpoint(celsius).then(
        () => {
          confirmed = celsius
        },
        () => undefined,
      )
      await clock.sleep(round % 4)
      await plug.pullOut()
      const heardBefore = plug.heard.length
      const waiting = bath.setSetpoint(90).catch(() => undefined)
      await Promise.all([order, waiting])
      await plug.plugIn()
      await until(() => bath.status.state === 'ready')
      const after = plug.heard.slice(heardBefore)
      expect(after.filter((line) => line.startsWith('SOUR:TEMP:SPO '))).toEqual([])
      expect(after[0]).toBe('*IDN?')
      const now = Number((await bath.readSetpoint()).value)
      expect([confirmed, celsius]).toContain(now)
      confirmed = now
    }
    await bath.close()
  }, 60_000)

  it('is found again under another name, and another instrument there is not taken for it', async () => {
    const memory = { setpoint: '25.000', serial: '7' }
    const here = new Plug('name-a', memory)
    const stranger = new Plug('name-b', { setpoint: '25.000', serial: '8' })
    const moved = new Plug('name-c', memory)
    let list: SerialPortInfo[] = [{ path: here.path }]
    await here.plugIn()
    const address = {
      path: here.path,
      baud: 19_200,
      dataBits: 8,
      parity: 'none',
      stopBits: 1,
      flow: 'none',
    } as const
    const more = { dtr: true, rts: true, afterOpenMs: 0, openMs: 2000, owner: 'bath' }
    const bath = openInstrument({
      spec: { id: 'bath', name: 'bath', profile: 'lab-tb-2', link: { kind: 'serial', path: here.path } },
      clock,
      profiles,
      random: () => 0,
      connect: serialConnect({ ...address, ...more }, clock, async () => list),
    }) as Bath
    await bath.open()
    await here.pullOut()
    await until(() => bath.status.state === 'lost')
    await stranger.plugIn()
    await moved.plugIn()
    list = [{ path: stranger.path }, { path: moved.path }]
    await until(() => bath.status.state === 'ready', 20_000)
    expect(bath.identity?.serial).toBe('7')
    expect((await bath.readTemperature()).value).toBe('24.998')
    expect(stranger.heard.every((line) => line === '*IDN?')).toBe(true)
    await bath.close()
  }, 30_000)

  it('says what is wrong when the port is not there', async () => {
    const bath = bathAt(join(folder, 'nowhere'))
    await expect(bath.open()).rejects.toMatchObject({ code: 'no-such-port' })
    await bath.close()
    symlinkSync('/dev/null', join(folder, 'no-port'))
    const other = bathAt(join(folder, 'no-port'))
    await expect(other.open()).rejects.toThrow()
    await other.close()
  })
})

pairs('the lab on serial ports', () => {
  it('opens and reads each of its instruments by its profile', async () => {
    const bench = await openLab(3, new ScaledClock(4))
    const attempts = bench.lab.bench.instruments.map(async (spec) => {
      const instrument = bench.instrument(spec.id)
      expect(spec.link.kind).toBe('serial')
      expect((await instrument.open()).serial).toBe(spec.serial)
      if ('measure' in instrument)
        expect((await instrument.measure({ input: 2, average: 1 })).marks).toEqual([])
      if ('select' in instrument) await instrument.select(1)
      if ('readTemperature' in instrument) expect((await instrument.readTemperature()).marks).toEqual([])
      if ('readAll' in instrument) expect(await instrument.readAll()).toHaveLength(3)
    })
    await Promise.all(attempts)
    await bench.close()
  }, 60_000)
})

describe('candidatePaths', () => {
  const ports: SerialPortInfo[] = [
    { path: '/dev/a', usbSerial: 'A1', vendorId: '0403', productId: '6001' },
    { path: '/dev/b', vendorId: '0403', productId: '6001' },
    { path: '/dev/c', vendorId: '1a86', productId: '7523' },
  ]
  it('follows the USB serial number wherever it went', () => {
    expect(candidatePaths('/dev/x', { usbSerial: 'A1' }, new Set(), ports)).toEqual(['/dev/a'])
  })
  it('otherwise asks new ports of the same kind, never those that were there before', () => {
    const kind = { vendorId: '0403', productId: '6001' }
    expect(candidatePaths('/dev/x', kind, new Set(['/dev/a']), ports)).toEqual(['/dev/b', '/dev/x'])
    expect(candidatePaths('/dev/x', {}, new Set(['/dev/a', '/dev/b', '/dev/c']), ports)).toEqual(['/dev/x'])
  })
  it('tries the known name first while it is there', () => {
    expect(candidatePaths('/dev/a', {}, new Set(), ports)[0]).toBe('/dev/a')
    // What Windows calls an adapter without a number is a name of its socket, and says nothing in another one.
    const kept = { usbSerial: '5&2C24CE4B&0&1', vendorId: '0403', productId: '6001' }
    const moved: SerialPortInfo[] = [{ path: 'COM7', vendorId: '0403', productId: '6001' }]
    expect(candidatePaths('COM4', kept, new Set(), moved)).toEqual(['COM7', 'COM4'])
  })
})

describe('explainSerial', () => {
  it.each([
    ['Error: Permission denied, cannot open /dev/ttyUSB0', 'permission', 'sudo usermod -a -G dialout $USER'],
    ['Error: No such file or directory, cannot open /dev/ttyUSB0', 'no-such-port', 'plugged in'],
    ['Error Resource temporarily unavailable Cannot lock port', 'refused', 'held by another program'],
    ['Opening COM3: Access denied', 'permission', 'Another program has the port open'],
  ])('says what to do about %j', (message, code, words) => {
    const fault = explainSerial(new Error(message), '/dev/ttyUSB0', 'linux')
    expect(fault.code).toBe(code)
    expect(fault.message).toContain(words)
  })
  it('names the program that grabs ports of this kind', () => {
    expect(explainSerial(new Error('Cannot lock port'), '/dev/ttyACM0', 'linux').message).toContain(
      'ID_MM_DEVICE_IGNORE',
    )
  })
})
