import { describe, expect, it } from 'vitest'
import { candidatePaths, listSerialPorts } from '../../../drivers/link/serial-ports.ts'

const ADAPTER = { vendorId: '0403', productId: '6001' }

describe('candidatePaths', () => {
  it('takes a port with the same serial number for the same adapter, whatever it is called now', () => {
    const now = [
      { path: 'COM3', usbSerial: 'QX0001', ...ADAPTER },
      { path: 'COM9', usbSerial: 'QX0002', ...ADAPTER },
    ]
    expect(candidatePaths('COM3', { usbSerial: 'QX0002', ...ADAPTER }, new Set(), now)).toEqual(['COM9'])
  })

  it("does not take Windows' name of a socket for a serial number: the adapter is found in another socket", () => {
    // Device instance IDs of adapters without a number hold '&' (Microsoft's driver documentation, from memory).
    const known = { usbSerial: '6&2C24CE2E&0&1', ...ADAPTER }
    const now = [{ path: 'COM7', ...ADAPTER }]
    expect(candidatePaths('COM4', known, new Set(['COM4']), now)).toEqual(['COM7', 'COM4'])
  })

  it('does not ask a port that was there all along, nor another kind of adapter', () => {
    const now = [
      { path: 'COM1', ...ADAPTER },
      { path: 'COM8', vendorId: '10c4', productId: 'ea60' },
    ]
    expect(candidatePaths('COM4', ADAPTER, new Set(['COM1', 'COM4']), now)).toEqual(['COM4'])
  })

  it('asks the known path first where it is still there', () => {
    const now = [
      { path: 'COM4', ...ADAPTER },
      { path: 'COM7', ...ADAPTER },
    ]
    expect(candidatePaths('COM4', ADAPTER, new Set(['COM4']), now)).toEqual(['COM4', 'COM7'])
  })
})

describe('listSerialPorts', () => {
  it('is no failure where the program that tells of ports is not there', async () => {
    const without = () =>
      Promise.reject(
        Object.assign(new Error('spawn udevadm ENOENT'), { code: 'ENOENT', syscall: 'spawn udevadm' }),
      )
    expect(Array.isArray(await listSerialPorts(without))).toBe(true)
    const broken = () => Promise.reject(Object.assign(new Error('denied'), { code: 'EACCES' }))
    await expect(listSerialPorts(broken)).rejects.toThrow('denied')
  })

  it("tells what each adapter says of itself, but for Windows' name of its socket", async () => {
    const port = { path: 'COM4', vendorId: '0403', productId: '6001', manufacturer: 'Quennick' }
    const none = { pnpId: undefined, locationId: undefined }
    expect(
      await listSerialPorts(() =>
        Promise.resolve([
          { ...none, ...port, serialNumber: '6&2C24CE2E&0&1' },
          { ...none, ...port, serialNumber: 'QX0001' },
        ]),
      ),
    ).toEqual([
      { path: 'COM4', maker: 'Quennick', vendorId: '0403', productId: '6001' },
      { path: 'COM4', usbSerial: 'QX0001', maker: 'Quennick', vendorId: '0403', productId: '6001' },
    ])
  })
})
