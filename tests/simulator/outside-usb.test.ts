import { describe, expect, it } from 'vitest'
import { labProcess, output, pythonWith } from './lab-process.ts'

// A client of USBTMC that nobody here wrote: pyvisa-py on pyusb, with the transfers of pyusb carried over USB/IP; where
// Debian's python3-pyvisa-py and python3-usb are not installed the test is skipped.
const PYTHON = pythonWith('pyvisa, pyvisa_py, usb')

/** A backend of pyusb (its documented interface usb.backend.IBackend) that carries transfers over USB/IP. */
const BACKEND = `
import errno, socket, struct, sys, types
import usb.core, usb.backend, usb.backend.libusb1

HOST, PORT = '127.0.0.1', int(sys.argv[1])

def exactly(sock, count):
    got = b''
    while len(got) < count:
        part = sock.recv(count - len(got))
        if not part: raise usb.core.USBError('gone', -108, errno.ESHUTDOWN)
        got += part
    return got

class Device:
    def __init__(self, raw):
        self.busid = raw[256:288].rstrip(b'\\0')
        self.bus, self.address = struct.unpack('>II', raw[288:296])
        self.sock = None
        self.sequence = 0

class Usbip(usb.backend.IBackend):
    def __init__(self):
        with socket.create_connection((HOST, PORT)) as sock:
            sock.sendall(struct.pack('>HHI', 0x0111, 0x8005, 0))
            version, code, status, count = struct.unpack('>HHII', exactly(sock, 12))
            assert (version, code, status) == (0x0111, 5, 0)
            self.devices = []
            for _ in range(count):
                raw = exactly(sock, 312)
                assert exactly(sock, 4 * raw[311])[:3] == bytes([0xfe, 3, 1])
                self.devices.append(Device(raw))
    def enumerate_devices(self): return self.devices
    def submit(self, dev, ep, into, length, setup=bytes(8), data=b''):
        dev.sequence += 1
        head = struct.pack('>IIIII', 1, dev.sequence, dev.bus << 16 | dev.address, int(into), ep)
        dev.sock.sendall(head + struct.pack('>IIIiI', 0, length, 0, -1, 0) + setup + data)
        reply = exactly(dev.sock, 48)
        command, sequence, _, _, _, status, actual = struct.unpack('>IIIIIiI', reply[:28])
        assert (command, sequence) == (3, dev.sequence)
        got = exactly(dev.sock, actual) if into else b''
        if status == -32: raise usb.core.USBError('stall', -9, errno.EPIPE)
        if status != 0: raise usb.core.USBError('error', status, -status)
        return got if into else actual
    def open_device(self, dev):
        if dev.sock is None:
            dev.sock = socket.create_connection((HOST, PORT), 10)
            dev.sock.sendall(struct.pack('>HHI', 0x0111, 0x8003, 0) + dev.busid.ljust(32, b'\\0'))
            version, code, status = struct.unpack('>HHI', exactly(dev.sock, 8))
            if status != 0: raise usb.core.USBError('busy', -6, errno.EBUSY)
            exactly(dev.sock, 312)
        return dev
    def close_device(self, dev):
        if dev.sock is not None: dev.sock.close()
        dev.sock = None
    def descriptor(self, dev, kind, length):
        opened = dev.sock is None
        self.open_device(dev)
        try: return self.submit(dev, 0, True, length, struct.pack('<BBHHH', 0x80, 6, kind << 8, 0, length))
        finally:
            if opened: self.close_device(dev)
    def parts(self, dev):
        raw, at, found = self.descriptor(dev, 2, 1024), 0, []
        while at < len(raw):
            found.append(raw[at:at + raw[at]])
            at += raw[at]
        return found
    @staticmethod
    def named(raw, form, names, **more):
        return types.SimpleNamespace(**dict(zip(names.split(), struct.unpack(form, raw[:struct.calcsize(form)]))), extra_descriptors=[], **more)
    def get_device_descriptor(self, dev):
        return self.named(self.descriptor(dev, 1, 18), '<BBHBBBBHHHBBBB',
            'bLength bDescriptorType bcdUSB bDeviceClass bDeviceSubClass bDeviceProtocol bMaxPacketSize0 idVendor idProduct bcdDevice iManufacturer iProduct iSerialNumber bNumConfigurations',
            bus=dev.bus, address=dev.address, port_number=None, port_numbers=None, speed=3)
    def get_configuration_descriptor(self, dev, config):
        if config > 0: raise IndexError()
        return self.named(self.parts(dev)[0], '<BBHBBBBB', 'bLength bDescriptorType wTotalLength bNumInterfaces bConfigurationValue iConfiguration bmAttributes bMaxPower')
    def get_interface_descriptor(self, dev, intf, alt, config):
        if intf > 0 or alt > 0: raise IndexError()
        return self.named(self.parts(dev)[1], '<BBBBBBBBB', 'bLength bDescriptorType bInterfaceNumber bAlternateSetting bNumEndpoints bInterfaceClass bInterfaceSubClass bInterfaceProtocol iInterface')
    def get_endpoint_descriptor(self, dev, ep, intf, alt, config):
        ends = self.parts(dev)[2:]
        if ep >= len(ends): raise IndexError()
        return self.named(ends[ep], '<BBBBHB', 'bLength bDescriptorType bEndpointAddress bmAttributes wMaxPacketSize bInterval', bRefresh=0, bSynchAddress=0)
    def set_configuration(self, dev, value): self.submit(dev, 0, False, 0, struct.pack('<BBHHH', 0, 9, value, 0, 0))
    def get_configuration(self, dev): return 1
    def set_interface_altsetting(self, dev, intf, alt): pass
    def claim_interface(self, dev, intf): pass
    def release_interface(self, dev, intf): pass
    def is_kernel_driver_active(self, dev, intf): return False
    def reset_device(self, dev): pass
    def clear_halt(self, dev, ep): self.submit(dev, 0, False, 0, struct.pack('<BBHHH', 2, 1, 0, ep, 0))
    def bulk_write(self, dev, ep, intf, data, timeout): return self.submit(dev, ep, False, len(data) * data.itemsize, data=data.tobytes())
    def bulk_read(self, dev, ep, intf, buff, timeout):
        got = self.submit(dev, ep & 0x7f, True, len(buff))
        buff[:len(got)] = type(buff)(buff.typecode, got)
        return len(got)
    intr_read = bulk_read
    def ctrl_transfer(self, dev, kind, request, value, index, data, timeout):
        setup = struct.pack('<BBHHH', kind, request, value, index, len(data))
        got = self.submit(dev, 0, kind & 0x80 != 0, len(data), setup, b'' if kind & 0x80 else data.tobytes())
        if not kind & 0x80: return got
        data[:len(got)] = type(data)(data.typecode, got)
        return len(got)

backend = Usbip()
usb.backend.libusb1.get_backend = lambda *_, **__: backend
`

const CLIENT = `
import pyvisa
manager = pyvisa.ResourceManager('@py')
print(sorted(manager.list_resources('USB?*::INSTR'))[0])
bridge = manager.open_resource('USB::0x1209::0x0001::0817::INSTR', read_termination='\\n', write_termination='\\n', timeout=5000)
print(bridge.query('*IDN?'))
bridge.write('KETTLE:BOIL')
print(bridge.query('SYST:ERR?'))
print(bridge.query('SYST:ERR?'))
bridge.write('ROUT:CLOS (@2);:SENS:AVER:COUN 2')
bridge.write('INIT')
bridge.query('*OPC?')
print(bridge.query_ascii_values('FETC?')[0] > 0.5)
bridge.write('*IDN?')
print(bridge.query('SYST:VERS?'))
print(bridge.query('SYST:ERR?'))

# The device clear of the class by pyusb itself: clear, its status, the halt of the endpoint; then the status byte.
device = next(iter(usb.core.find(find_all=True, custom_match=lambda each: each.serial_number == '0817')))
bridge.write('*IDN?')
print(list(device.ctrl_transfer(0xa1, 5, 0, 0, 1)))
print(list(device.ctrl_transfer(0xa1, 6, 0, 0, 2)))
device.clear_halt(1)
print(list(device.ctrl_transfer(0xa1, 128, 7, 0, 3))[:2])
print([hex(byte) for byte in device.read(0x83, 2)])
print(bridge.query('*IDN?'))

# A tag used twice breaks the rules of the class: the endpoint stands still until the halt is cleared.
line = b'*IDN?\\n'
def send(tag): return device.write(1, struct.pack('<BBBxLBxxx', 1, tag, ~tag & 255, len(line), 1) + line + bytes(-len(line) % 4))
send(200)
try: send(200)
except usb.core.USBError as fault: print(fault.errno == errno.EPIPE)
`

describe('the lab over USBTMC', () => {
  it.skipIf(!PYTHON)('is identified, measured with and cleared by pyvisa and pyusb', async () => {
    const lab = await labProcess('--bus', 'usbtmc', '--ports', '0')
    const { sharedBy } = lab.links.bridge!
    const text = await output(PYTHON!, ['-c', BACKEND + CLIENT, String(sharedBy!.port)])
    expect(text.trim().split('\n')).toEqual([
      'USB0::4617::1::0817::0::INSTR',
      'QUENNICK,RB-8,0817,1.3',
      '-113,"Undefined header"',
      '0,"No error"',
      'True',
      '1999.0',
      '-410,"Query INTERRUPTED"',
      '[1]',
      '[1, 0]',
      '[1, 7]',
      "['0x87', '0x0']",
      'QUENNICK,RB-8,0817,1.3',
      'True',
    ])
    expect(await lab.stop()).toBe(0)
  })
})
