import { spawn, spawnSync } from 'node:child_process'
import { once } from 'node:events'
import { existsSync, statSync } from 'node:fs'
import { createInterface } from 'node:readline'
import { describe, expect, it } from 'vitest'
import { HOST, has, labProcess, output, pythonWith, RUN } from './lab-process.ts'

const hasSocat = has('socat', '-V')
const PYTHON = pythonWith('pyvisa, pyvisa_py, serial')

describe('stillpoint lab', () => {
  it('answers in another process and ends cleanly on Ctrl-C', async () => {
    const lab = await labProcess('--ports', '0', '--seed', '5')
    expect(Object.keys(lab.links)).toEqual(['bridge', 'scanner', 'bath', 'air'])
    expect(await lab.stop()).toBe(0)
  })

  for (const [args, words] of [
    [['--seed', 'x'], /whole number/],
    [['--speed', '0'], /above 0/],
    [['--scenario', 'none'], /Allowed choices are demo/],
    [['--ports', 'kettle=5000'], /the scenario demo has bridge/],
    [['--faults', '/nonexistent'], /ENOENT/],
  ] as const) {
    it(`refuses ${args.join(' ')} with status 2 and one line`, () => {
      const { status, stderr } = spawnSync(process.execPath, [HOST, 'lab', ...args], RUN)
      expect(status).toBe(2)
      expect(stderr).toMatch(words)
      expect(stderr.trim().split('\n')).toHaveLength(1)
    })
  }

  it('takes fault orders on standard input while it runs', async () => {
    const child = spawn(process.execPath, [HOST, 'lab', '--ports', '0', '--orders'], {
      stdio: ['pipe', 'pipe', 'inherit'],
    })
    const lines: string[] = []
    const reader = createInterface(child.stdout!)
    const until = (pattern: RegExp) =>
      new Promise<void>((resolve) => {
        const look = () => {
          if (!lines.some((line) => pattern.test(line))) return
          reader.off('line', look)
          resolve()
        }
        reader.on('line', look)
        look()
      })
    reader.on('line', (line) => lines.push(line))
    await until(/Ctrl-C/)
    child.stdin!.write(
      '{"instrument":"bridge","kind":"silence"}\n{"instrument":"kettle","kind":"silence"}\nsulk\n',
    )
    await until(/not JSON/)
    expect(lines.slice(-3)).toEqual([
      'ordered: silence of bridge',
      'refused: no instrument is called kettle; this lab has bridge, scanner, bath, air',
      'refused: not JSON: sulk',
    ])
    const ended = once(child, 'exit')
    child.kill('SIGINT')
    expect((await ended)[0]).toBe(0)
  })

  it.skipIf(!hasSocat)('talks to socat, which knows nothing of it', async () => {
    const lab = await labProcess('--ports', '0')
    const { host, port } = lab.links.bridge!
    const text = await output('socat', ['-t2', '-', `TCP:${host}:${port}`], '*IDN?\nROUT:CLOS (@1)\n*OPC?\n')
    expect(text).toBe('QUENNICK,RB-8,0817,1.3\n1\n')
    expect(await lab.stop()).toBe(0)
  })

  it.skipIf(!hasSocat)('answers on pseudo-terminals and takes them away when it ends', async () => {
    const lab = await labProcess('--serial')
    const { kind, path } = lab.links.scanner!
    expect(kind).toBe('serial')
    expect(statSync(path).isCharacterDevice()).toBe(true)
    const text = await output('socat', ['-t1', '-', `${path},raw,echo=0`], '*IDN?\n')
    expect(text).toBe('QUENNICK,CS-16,1604,2.0\r\n')
    expect(await lab.stop()).toBe(0)
    expect(existsSync(path)).toBe(false)
  })

  // An outside client with its own reading of the standard; absent (python3-pyvisa-py not installed), this is skipped.
  it.skipIf(!PYTHON || !hasSocat)('talks to pyvisa over TCP and serial', async () => {
    const [tcp, serial] = await Promise.all([labProcess('--ports', '0'), labProcess('--serial')])
    const script = `
import pyvisa, sys
manager = pyvisa.ResourceManager('@py')
bridge = manager.open_resource(sys.argv[1], read_termination='\\n', write_termination='\\n')
print(bridge.query('*IDN?'))
bridge.write('ROUT:CLOS (@2);:SENS:AVER:COUN 2')
bridge.write('INIT')
bridge.query('*OPC?')
print(bridge.query_ascii_values('FETC?')[0] > 0.5)
print(bridge.query('SYST:ERR?'))
scanner = manager.open_resource(sys.argv[2], read_termination='\\r\\n', write_termination='\\n')
scanner.write('ROUT:CLOS (@103)')
print(scanner.query('ROUT:CLOS:STAT?'))
`
    const text = await output(PYTHON!, [
      '-c',
      script,
      `TCPIP0::127.0.0.1::${tcp.links.bridge!.port}::SOCKET`,
      `ASRL${serial.links.scanner!.path}::INSTR`,
    ])
    expect(text.trim().split('\n')).toEqual(['QUENNICK,RB-8,0817,1.3', 'True', '0,"No error"', '(@103)'])
    await Promise.all([tcp.stop(), serial.stop()])
  })
})
