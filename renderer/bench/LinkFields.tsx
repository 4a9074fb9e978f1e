import { HISLIP_PORT } from '../../app/buses/hislip.ts'
import { MODBUS_PORT } from '../../app/buses/modbus.ts'
import { PORTMAP } from '../../app/buses/portmap.ts'
import type { LinkSpec } from '../../app/records/bench.ts'
import { LINK_KIND_WORDS } from '../../app/records/link-words.ts'
import { Button } from '../parts/Button.tsx'
import { Choice } from '../parts/Choice.tsx'
import { Field } from '../parts/Field.tsx'
import { NumberField } from '../parts/NumberField.tsx'
import { Tick } from '../parts/Tick.tsx'
import { UsbFields } from './UsbFields.tsx'

interface Props {
  link: LinkSpec
  working: boolean
  /** A serial port that is there, for who changes to one. */
  firstPort: string | undefined
  onChange: (link: LinkSpec) => void
  onPorts: () => void
  onHosts: () => void
}

const KINDS = [
  { id: 'tcp', about: 'lines of text over a TCP port' },
  { id: 'serial', about: 'RS-232, or a USB adapter' },
  { id: 'hislip', about: 'instruments with LXI; answers carry the number of their question' },
  { id: 'vxi-11', about: 'instruments with LXI, and GPIB behind a network gateway' },
  { id: 'usbtmc', about: 'instruments on a USB cable that show themselves as instruments' },
  { id: 'visa', about: 'whatever the VISA library of this computer reaches: GPIB cards and more' },
  { id: 'modbus-tcp', about: 'registers of baths, furnaces and room sensors over the network' },
  { id: 'modbus-rtu', about: 'the same over RS-485 or RS-232' },
] as const

/** What the last field of a link may be. */
const ABOUT: Partial<Record<LinkSpec['kind'], string>> = {
  hislip: 'The device is hislip0, unless the instrument says otherwise.',
  'vxi-11':
    'The device is inst0 of an instrument, or gpib0,5 of address 5 behind a gateway. The port mapper is at port 111 but for a lab on this computer.',
  usbtmc:
    'Maker and product are the two numbers that the system lists for the device, such as 1209:0001. The serial number may be left out where there is one of its kind.',
  visa: 'The resource is what the library calls the instrument: GPIB0::5::INSTR. The file of the library is left empty unless it has an unusual name.',
  'modbus-tcp': 'The unit is the number of the device on its line: 1, unless it was set to another.',
  'modbus-rtu': 'The unit is the number of the device on its line: 1, unless it was set to another.',
}

/** How an instrument is reached. */
export function LinkFields({ link, working, firstPort, onChange, onPorts, onHosts }: Props) {
  return (
    <>
      <Choice
        label="Link"
        value={link.kind}
        options={KINDS.map(({ id, about }) => ({ id, name: LINK_KIND_WORDS[id], about }))}
        onChange={(kind) => onChange(begin(kind as LinkSpec['kind'], link, firstPort))}
      />
      <div className="row row-end">
        {'host' in link && (
          <Field label="Host" value={link.host} onChange={(host) => onChange({ ...link, host })} />
        )}
        {'port' in link && (
          <NumberField
            label="Port"
            value={link.port}
            onChange={(port) => port && onChange({ ...link, port: Math.round(port) })}
          />
        )}
        {link.kind === 'tcp' && (
          <Button onPress={onHosts} disabled={working}>
            Search this host
          </Button>
        )}
        {'path' in link && (
          <SerialFields link={link} working={working} onChange={onChange} onPorts={onPorts} />
        )}
        {(link.kind === 'hislip' || link.kind === 'vxi-11') && (
          <Field label="Device" value={link.device} onChange={(device) => onChange({ ...link, device })} />
        )}
        {link.kind === 'vxi-11' && (
          <NumberField
            label="Port mapper"
            value={link.portmapper ?? PORTMAP.port}
            onChange={(port) => {
              const { portmapper: _old, ...rest } = link
              const portmapper = Math.round(port ?? PORTMAP.port)
              onChange(portmapper === PORTMAP.port ? rest : { ...rest, portmapper })
            }}
          />
        )}
        {link.kind === 'visa' && (
          <>
            <Field
              label="Resource"
              value={link.resource}
              onChange={(resource) => onChange({ ...link, resource })}
            />
            <Field
              label="File of the library"
              value={link.library ?? ''}
              onChange={(library) => {
                const { library: _old, ...rest } = link
                onChange(library === '' ? rest : { ...rest, library })
              }}
            />
          </>
        )}
        {link.kind === 'usbtmc' && <UsbFields link={link} onChange={onChange} />}
        {'unit' in link && (
          <NumberField
            label="Unit"
            value={link.unit}
            onChange={(unit) => unit !== undefined && onChange({ ...link, unit: Math.round(unit) })}
          />
        )}
      </div>
      {ABOUT[link.kind] && <p className="field-about">{ABOUT[link.kind]}</p>}
      {(link.kind === 'hislip' || link.kind === 'vxi-11' || link.kind === 'visa') && (
        <Tick
          on={link.shared === true}
          onChange={(on) => {
            const { shared: _old, ...rest } = link
            onChange(on ? { ...rest, shared: true } : rest)
          }}
        >
          Other programs may use this instrument too
        </Tick>
      )}
    </>
  )
}

function SerialFields({
  link,
  working,
  onChange,
  onPorts,
}: Pick<Props, 'working' | 'onPorts' | 'onChange'> & { link: Extract<LinkSpec, { path: string }> }) {
  return (
    <>
      <Field label="Port" value={link.path} onChange={(path) => onChange({ ...link, path })} />
      <Choice
        label="Baud"
        value={String(link.baud ?? 'profile')}
        options={['profile', '1200', '2400', '4800', '9600', '19200', '38400', '57600', '115200'].map(
          (b) => ({ id: b, name: b === 'profile' ? 'As the profile says' : b }),
        )}
        onChange={(b) => {
          const { baud: _old, ...rest } = link
          onChange(b === 'profile' ? rest : { ...rest, baud: Number(b) })
        }}
      />
      <Button onPress={onPorts} disabled={working}>
        Find serial ports
      </Button>
    </>
  )
}

/** The new kind of link with what is usual for it; the host stays. */
function begin(kind: LinkSpec['kind'], before: LinkSpec, firstPort: string | undefined): LinkSpec {
  const host = 'host' in before ? before.host : '127.0.0.1'
  switch (kind) {
    case 'tcp':
      return { kind, host, port: 5025 }
    case 'serial':
      return { kind, path: firstPort ?? 'ttyUSB0' }
    case 'hislip':
      return { kind, host, port: HISLIP_PORT, device: 'hislip0' }
    case 'vxi-11':
      return { kind, host, device: 'inst0' }
    case 'usbtmc':
      return { kind, vendor: 0, product: 0 }
    case 'visa':
      return { kind, resource: 'GPIB0::5::INSTR' }
    case 'modbus-tcp':
      return { kind, host, port: MODBUS_PORT, unit: 1 }
    case 'modbus-rtu':
      return { kind, path: firstPort ?? 'ttyUSB0', unit: 1 }
  }
}
