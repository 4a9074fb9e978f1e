import { useState } from 'react'
import { USBIP_PORT } from '../../app/buses/usbip.ts'
import type { LinkSpec } from '../../app/records/bench.ts'
import { usbIds } from '../../app/records/link-words.ts'
import { Field } from '../parts/Field.tsx'
import { NumberField } from '../parts/NumberField.tsx'
import { Tick } from '../parts/Tick.tsx'

type UsbLink = Extract<LinkSpec, { kind: 'usbtmc' }>

interface Props {
  link: UsbLink
  onChange: (link: UsbLink) => void
}

/** Which device on USB, and whose. */
export function UsbFields({ link, onChange }: Props) {
  const [ids, setIds] = useState(usbIds(link))
  const { sharedBy, ...own } = link
  const { serial: _serial, ...any } = link
  return (
    <>
      <Field
        label="Maker:product"
        value={ids}
        onChange={(text) => {
          setIds(text)
          const [, vendor, product] = /^\s*([0-9a-f]{1,4}):([0-9a-f]{1,4})\s*$/i.exec(text) ?? []
          if (vendor === undefined || product === undefined) return
          onChange({ ...link, vendor: Number.parseInt(vendor, 16), product: Number.parseInt(product, 16) })
        }}
      />
      <Field
        label="Serial number"
        value={link.serial ?? ''}
        onChange={(serial) => onChange(serial === '' ? any : { ...link, serial })}
      />
      <Tick
        on={sharedBy !== undefined}
        onChange={(on) => onChange(on ? { ...own, sharedBy: { host: '127.0.0.1', port: USBIP_PORT } } : own)}
      >
        Another computer shares it over the network (USB/IP)
      </Tick>
      {sharedBy !== undefined && (
        <>
          <Field
            label="Host"
            value={sharedBy.host}
            onChange={(host) => onChange({ ...link, sharedBy: { ...sharedBy, host } })}
          />
          <NumberField
            label="Port"
            value={sharedBy.port}
            onChange={(port) =>
              port && onChange({ ...link, sharedBy: { ...sharedBy, port: Math.round(port) } })
            }
          />
        </>
      )}
    </>
  )
}
