import { type ChildProcess, spawn } from 'node:child_process'
import { once } from 'node:events'
import { existsSync } from 'node:fs'
import { createInterface } from 'node:readline'
import { describe, expect, it } from 'vitest'
import { PORTMAP } from '../../app/buses/portmap.ts'
import { CORE } from '../../app/buses/vxi11.ts'
import type { Bath, Meter } from '../../app/instruments/faces.ts'
import { loadProfiles, openInstrument } from '../../drivers/index.ts'
import { RealClock } from '../../main/station/clocks/real.ts'
import { PortMapper } from '../../simulator/buses/portmapper.ts'
import { has, labProcess, output, pythonWith } from './lab-process.ts'

// Clients and servers that nobody here wrote, with their own reading of the standards; where Debian's package is not
// installed (python3-pyvisa-py, lxi-tools, python3-pymodbus, libmodbus5) the test is skipped.
const PYTHON = pythonWith('pyvisa, pyvisa_py')
const PYMODBUS = pythonWith('pymodbus')
/** The library of Debian's libmodbus5, called from Python. */
const LIBMODBUS = ['x86_64', 'aarch64']
  .map((machine) => `/usr/lib/${machine}-linux-gnu/libmodbus.so.5`)
  .find((path) => existsSync(path))
const hasSocat = has('socat', '-V')
const hasLxi = has('lxi', '--version')

describe('the lab over VXI-11', () => {
  it.skipIf(!PYTHON)(
    'is identified, measured with and cleared by pyvisa through its port mapper',
    async () => {
      const lab = await labProcess('--bus', 'vxi-11', '--portmapper', '0')
      const script = `
import sys
from pyvisa_py.protocols import rpc
rpc.PMAP_PORT = int(sys.argv[1])
import pyvisa
manager = pyvisa.ResourceManager('@py')
bridge = manager.open_resource('TCPIP::127.0.0.1::inst0::INSTR', read_termination='\\n', write_termination='\\n')
print(bridge.query('*IDN?'))
bridge.write('KETTLE:BOIL')
print(bridge.query('SYST:ERR?'))
print(bridge.query('SYST:ERR?'))
bridge.write('ROUT:CLOS (@2);:SENS:AVER:COUN 2')
bridge.write('INIT')
bridge.query('*OPC?')
print(bridge.query_ascii_values('FETC?')[0] > 0.5)
bridge.write('*IDN?')
bridge.clear()
print(bridge.query('SYST:ERR?'))
bridge.write('*IDN?')
print(bridge.query('SYST:VERS?'))
print(bridge.query('SYST:ERR?'))
bridge.write('*SRE 4')
bridge.write('KETTLE:BOIL')
print(bridge.read_stb() & 68)
bridge.close()
scanner = manager.open_resource('TCPIP::127.0.0.1::gpib0,2::INSTR')
print(scanner.query('*IDN?').strip())
`
      const { portmapper } = lab.links.bridge!
      const text = await output(PYTHON!, ['-c', script, String(portmapper ?? PORTMAP.port)])
      expect(text.trim().split('\n')).toEqual([
        'QUENNICK,RB-8,0817,1.3',
        '-113,"Undefined header"',
        '0,"No error"',
        'True',
        '0,"No error"',
        '1999.0',
        '-410,"Query INTERRUPTED"',
        '68',
        'QUENNICK,CS-16,1604,2.0',
      ])
      expect(await lab.stop()).toBe(0)
    },
  )

  it.skipIf(!hasLxi)('answers lxi-tools, which look at port 111 alone', async ({ skip }) => {
    const lab = await labProcess('--bus', 'vxi-11')
    // Whoever has port 111 already, or has no right to it, cannot be told another one.
    if (lab.links.bridge!.portmapper !== undefined) {
      await lab.stop()
      skip('port 111 is not to be had here')
    }
    const asked = await output('lxi', ['scpi', '-a', '127.0.0.1', '*IDN?'])
    expect(asked.trim()).toBe('QUENNICK,RB-8,0817,1.3')
    expect(await output('lxi', ['benchmark', '-a', '127.0.0.1', '-c', '50'])).toMatch(/Result: \d/)
    expect(await lab.stop()).toBe(0)
  })
})

/** A VXI-11 instrument upon the remote procedures of pyvisa-py: it knows its name, one reading, and device clear. */
const SERVER = `
import sys
from pyvisa_py.protocols import rpc, vxi11

class Instrument(rpc.TCPServer):
    queue = b''
    events = 0
    def reply(self, *values):
        self.turn_around()
        for value in values:
            if isinstance(value, bytes): self.packer.pack_opaque(value)
            else: self.packer.pack_int(value)
    def generic(self):
        return [self.unpacker.unpack_uint() for _ in range(4)]
    def handle_10(self):
        self.unpacker.unpack_int(); self.unpacker.unpack_bool(); self.unpacker.unpack_uint()
        name = self.unpacker.unpack_string()
        self.reply(0 if name == b'inst0' else 3, 7, 0, 512)
    def handle_11(self):
        link, io, lock, flags = [self.unpacker.unpack_uint() for _ in range(4)]
        line = self.unpacker.unpack_opaque()
        answers = []
        for word in line.decode().strip().split(';'):
            if word == '*IDN?': answers.append('QUENNICK,RB-8,4711,1.3')
            elif word == '*OPC?': answers.append('1')
            elif word == '*ESR?': answers.append('0')
            elif word == 'FETC?': answers.append('+2.550000001E-01')
        self.queue = '\\n'.join(answers).encode()
        self.reply(0, len(line))
    def handle_12(self):
        [self.unpacker.unpack_uint() for _ in range(6)]
        if self.queue == b'': self.reply(15, 0, b'')
        else:
            data, self.queue = self.queue, b''
            self.reply(0, 4, data)
    def handle_13(self):
        self.generic(); self.reply(0, 16 if self.queue else 0)
    def handle_15(self):
        self.generic(); self.queue = b''; self.reply(0)
    def handle_16(self):
        self.generic(); self.reply(8)
    def handle_17(self):
        self.generic(); self.reply(8)
    def handle_23(self):
        self.unpacker.unpack_int(); self.reply(0)
server = Instrument('127.0.0.1', vxi11.DEVICE_CORE_PROG, 1, 0)
print(server.sock.getsockname()[1], flush=True)
server.loop()
`

describe('the station over VXI-11', () => {
  it.skipIf(!PYTHON)('measures with a server upon the remote procedures of pyvisa-py', async () => {
    const server: ChildProcess = spawn(PYTHON!, ['-c', SERVER], { stdio: ['ignore', 'pipe', 'inherit'] })
    const [port] = (await once(createInterface(server.stdout!), 'line')) as [string]
    const mapper = new PortMapper('127.0.0.1', [{ ...CORE, protocol: PORTMAP.tcp, port: Number(port) }])
    await mapper.open(0)
    const clock = new RealClock()
    const link = { kind: 'vxi-11', host: '127.0.0.1', device: 'inst0', portmapper: mapper.port } as const
    const spec = { id: 'bridge', name: 'bridge', profile: 'lab-rb-8', link }
    const bridge = openInstrument({ spec, clock, profiles: await loadProfiles(), atOnce: true }) as Meter
    try {
      expect((await bridge.open()).serial).toBe('4711')
      for (let i = 0; i < 3; i++) {
        const { value, marks } = await bridge.measure({ input: 1, currentMa: 1, average: 1 })
        expect([value, marks]).toEqual(['+2.550000001E-01', []])
      }
    } finally {
      await bridge.close()
      await mapper.close()
      server.kill()
    }
  })
})

describe('the lab over Modbus', () => {
  it.skipIf(!PYMODBUS)('is read, set and refused by pymodbus over TCP', async () => {
    const lab = await labProcess('--bus', 'modbus', '--ports', '0')
    const script = `
import sys, struct
from pymodbus.client import ModbusTcpClient
from pymodbus.mei_message import ReadDeviceInformationRequest
client = ModbusTcpClient('127.0.0.1', port=int(sys.argv[1]))
client.connect()
celsius = lambda words: round(struct.unpack('>f', struct.pack('>HH', *words))[0], 3)
print(client.execute(ReadDeviceInformationRequest(1, 0, unit=1)).information[1].decode())
print(5 < celsius(client.read_input_registers(0, 2, slave=1).registers) < 45)
client.write_registers(0, list(struct.unpack('>HH', struct.pack('>f', 31.25))), slave=1)
print(celsius(client.read_holding_registers(0, 2, slave=1).registers))
print(client.write_registers(0, list(struct.unpack('>HH', struct.pack('>f', 900.0))), slave=1).exception_code)
print(client.read_input_registers(500, 1, slave=1).exception_code)
print(client.write_register(2, 150, slave=1).isError())
client.close()
`
    const text = await output(PYMODBUS!, ['-c', script, String(lab.links.bath!.port)])
    expect(text.trim().split('\n')).toEqual(['TB-2M', 'True', '31.25', '3', '2', 'False'])
    expect(await lab.stop()).toBe(0)
  })

  it.skipIf(!PYMODBUS || !hasSocat || !LIBMODBUS)(
    'is read and set by libmodbus over a serial pair',
    async () => {
      const lab = await labProcess('--bus', 'modbus-rtu')
      const script = `
import sys, ctypes
modbus = ctypes.CDLL(sys.argv[2])
modbus.modbus_new_rtu.restype = ctypes.c_void_p
modbus.modbus_new_rtu.argtypes = [ctypes.c_char_p, ctypes.c_int, ctypes.c_char, ctypes.c_int, ctypes.c_int]
for name in ('modbus_connect', 'modbus_set_slave', 'modbus_read_input_registers', 'modbus_read_registers', 'modbus_write_registers', 'modbus_set_response_timeout', 'modbus_close'):
    getattr(modbus, name).argtypes = [ctypes.c_void_p] + {'modbus_set_slave': [ctypes.c_int], 'modbus_set_response_timeout': [ctypes.c_uint32, ctypes.c_uint32]}.get(name, [ctypes.c_int, ctypes.c_int, ctypes.c_void_p] if 'registers' in name else [])
line = modbus.modbus_new_rtu(sys.argv[1].encode(), 19200, b'E', 8, 1)
modbus.modbus_set_slave(line, 1)
modbus.modbus_set_response_timeout(line, 3, 0)
print(modbus.modbus_connect(line))
words = (ctypes.c_uint16 * 4)()
print(modbus.modbus_read_input_registers(line, 16, 4, words))
print(b''.join(bytes([w >> 8, w & 255]) for w in words).rstrip(b'\\0').decode())
print(modbus.modbus_write_registers(line, 0, 2, (ctypes.c_uint16 * 2)(0x4200, 0)))
print(modbus.modbus_read_registers(line, 0, 2, words), hex(words[0]))
print(modbus.modbus_read_registers(line, 90, 2, words))
modbus.modbus_close(line)
`
      const text = await output(PYMODBUS!, ['-c', script, lab.links.bath!.path, LIBMODBUS!])
      expect(text.trim().split('\n')).toEqual(['0', '4', 'TB-2M', '2', '2 0x4200', '-1'])
      expect(await lab.stop()).toBe(0)
    },
  )
})

/** A device upon pymodbus: model and serial number at 16, a state, and a setpoint that can be written. */
const MODBUS_SERVER = `
import asyncio, socket, struct, sys
from pymodbus.datastore import ModbusServerContext, ModbusSlaveContext, ModbusSparseDataBlock
from pymodbus.server import StartAsyncTcpServer
words = lambda text, n: list(struct.unpack('>%dH' % n, text.encode().ljust(2 * n, b'\\0')))
inputs = dict(enumerate(list(struct.unpack('>HH', struct.pack('>f', 24.5))) + [0, 0]))
inputs.update({16 + i: w for i, w in enumerate(words('TB-2M', 4) + words('77-1', 4) + words('1.9', 2))})
slave = ModbusSlaveContext(ir=ModbusSparseDataBlock(inputs), hr=ModbusSparseDataBlock({0: 0x41C8, 1: 0, 2: 0, 3: 0}), zero_mode=True)
probe = socket.socket(); probe.bind(('127.0.0.1', 0)); port = probe.getsockname()[1]; probe.close()
print(port, flush=True)
asyncio.run(StartAsyncTcpServer(context=ModbusServerContext(slaves=slave, single=True), address=('127.0.0.1', port)))
`

describe('the station over Modbus', () => {
  it.skipIf(!PYMODBUS)('reads and sets a device upon pymodbus, and reads the setpoint back', async () => {
    const server: ChildProcess = spawn(PYMODBUS!, ['-c', MODBUS_SERVER], {
      stdio: ['ignore', 'pipe', 'ignore'],
    })
    const [port] = (await once(createInterface(server.stdout!), 'line')) as [string]
    const clock = new RealClock()
    const link = { kind: 'modbus-tcp', host: '127.0.0.1', port: Number(port), unit: 1 } as const
    const spec = { id: 'bath', name: 'bath', profile: 'lab-tb-2m', link }
    const bath = openInstrument({ spec, clock, profiles: await loadProfiles(), random: () => 0 }) as Bath
    try {
      // The server says its port before it listens: the link goes on trying.
      await bath.open().catch(() => undefined)
      await expect.poll(() => bath.status.state).toBe('ready')
      expect(bath.identity?.serial).toBe('77-1')
      expect((await bath.readTemperature()).value).toBe('24.5')
      await bath.setSetpoint(31.125)
      expect((await bath.readSetpoint()).value).toBe('31.125')
      await expect(bath.setSetpoint(1000)).rejects.toMatchObject({ code: 'refused' })
    } finally {
      await bath.close()
      server.kill()
    }
  })
})
