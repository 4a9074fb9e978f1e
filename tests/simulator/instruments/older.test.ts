import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { byteXor } from '../../../simulator/instruments/checksums.ts'
import { type Bench, type RawClient, virtualLab } from '../bench-client.ts'

let bench: Bench
beforeEach(async () => {
  bench = await virtualLab({ scenario: 'mixed' })
})
afterEach(() => bench.end())

const framed = (text: string) => `${text}*${byteXor(text)}\r`

async function ask32(scanner: RawClient, text: string): Promise<string> {
  await bench.clock.sleep(51)
  const reply = await scanner.ask(framed(text), '\r')
  const [, body, sum] = /^(.*)\*(..)\r$/.exec(reply)!
  expect(byteXor(body!)).toBe(sum)
  return body!
}

describe('Rb3', () => {
  it('loses what is sent before its prompt', async () => {
    const bridge = await bench.client('old-bridge')
    bridge.tell('AV 4\r')
    bridge.tell('AV 8\r')
    expect(await bridge.until('>')).toBe('AV 4\r\n>')
    expect(await bridge.ask('AV\r', '>')).toMatch(/^AV\r\nAV=4\*/)
  })

  it('refuses a change while it measures, with E04, and has the reading only once', async () => {
    const bridge = await bench.client('old-bridge')
    await bridge.ask('GO\r', '>')
    expect(await bridge.ask('CU 2\r', '>')).toMatch(/\r\nE04\*/)
    expect(await bridge.ask('RD\r', '>')).toMatch(/\r\nE03\*/)
    await bench.clock.sleep(1100)
    expect(await bridge.ask('RD\r', '>')).toMatch(/RAT,\+1\.0000MA,/)
    expect(await bridge.ask('RD\r', '>')).toMatch(/\r\nE03\*/)
  })

  it('says NOVALUE for an open input and OVERLOAD beyond its range', async () => {
    const bridge = await bench.client('old-bridge')
    const read = async () => {
      await bridge.ask('GO\r', '>')
      await bench.clock.sleep(1100)
      return bridge.ask('RD\r', '>')
    }
    await bridge.ask('CH 7\r', '>')
    expect(await read()).toMatch(/\r\nNOVALUE,/)
    await bridge.ask('CH 0\r', '>')
    bench.lab.fault({ instrument: 'old-bridge', kind: 'jump', by: 2, times: 1 })
    expect(await read()).toMatch(/\r\nOVERLOAD,/)
    expect(await read()).toMatch(/\r\n\+1\.\d{8}RAT,/)
  })

  it('shows power-up once in its status byte', async () => {
    const bridge = await bench.client('old-bridge')
    expect(await bridge.ask('*STB?\r', '>')).toMatch(/\r\n128\*/)
    expect(await bridge.ask('*STB?\r', '>')).toMatch(/\r\n000\*/)
  })
})

describe('Cs32', () => {
  it('keeps the keep-warm current of an input and refuses inputs it has not', async () => {
    const scanner = await bench.client('old-scanner')
    expect(await ask32(scanner, 'K07,1000')).toBe('A')
    expect(await ask32(scanner, 'K07')).toBe('K07,1000')
    expect(await ask32(scanner, 'K32,1000')).toBe('N3')
    expect(await ask32(scanner, 'X')).toBe('N2')
    expect(await ask32(scanner, 'E')).toBe('E2')
    expect(await ask32(scanner, 'E')).toBe('E0')
  })

  it('loses a line that comes within 50 ms of its last reply', async () => {
    const scanner = await bench.client('old-scanner')
    expect(await ask32(scanner, 'C07')).toBe('A')
    scanner.tell(framed('C00'))
    await bench.clock.sleep(200)
    expect(scanner.received).toBe('')
    expect(await ask32(scanner, 'Q')).toBe('C07')
  })
})

describe('Tb1', () => {
  it('speaks Fahrenheit when told to, both ways', async () => {
    const bath = await bench.client('old-bath')
    const ask = async (line: string) => {
      await bench.clock.sleep(50)
      return (await bath.ask(`${line}\r`)).trim()
    }
    expect(await ask('UN=F')).toBe('OK')
    expect(await ask('SP=122,00')).toBe('OK')
    expect(await ask('SP?')).toBe('SP=122,00F')
    expect(await ask('UN=C')).toBe('OK')
    expect(await ask('SP?')).toBe('SP=50,00C')
    expect(await ask('HT=1')).toBe('OK')
    expect(await ask('HT?')).toBe('HT=1')
    expect(await ask('HELP')).toBe('ERR 1 COMMAND')
  })

  it('is busy for a line that comes too soon', async () => {
    const bath = await bench.client('old-bath')
    await bath.ask('ID?\r')
    expect(await bath.ask('SP?\r')).toBe('ERR 4 BUSY\r\n')
  })

  it('moves its own bath', async () => {
    const bath = await bench.client('old-bath')
    await bath.ask('SP=40,00\r')
    await bench.clock.sleep(50)
    await bath.ask('HT=1\r')
    await bench.clock.sleep(40 * 60_000)
    expect(await bath.ask('PV?\r')).toMatch(/^PV= 0(39,99|40,0[01])C\r\n$/)
    expect(bench.lab.truth.bathTemperature('oil')).toBeLessThan(25)
  })
})

describe('Es1', () => {
  it('talks every ten seconds and counts on while nobody listens', async () => {
    const first = await bench.client('air')
    const count = async (client: RawClient) => Number((await client.until('\x03')).split(',')[2])
    const one = await count(first)
    expect(await count(first)).toBe(one + 1)
    first.socket.destroy()
    await bench.clock.sleep(100_000)
    const second = await bench.client('air')
    expect(await count(second)).toBeGreaterThanOrEqual(one + 11)
  })
})
