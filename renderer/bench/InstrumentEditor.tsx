import type { ProfileRow } from '../../app/contract/studies.ts'
import type { BenchInstrument, LinkSpec } from '../../app/records/bench.ts'
import { linkWords } from '../../app/records/link-words.ts'
import { NEW_RECORD } from '../desk/wanted-record.model.ts'
import { Button } from '../parts/Button.tsx'
import { Choice, type Finder } from '../parts/Choice.tsx'
import { Field } from '../parts/Field.tsx'
import { Problem } from '../parts/Problem.tsx'
import { LinkFields } from './LinkFields.tsx'

export interface PortRow {
  path: string
  usbSerial: string | null
  words: string
  usable: boolean
}
export interface FoundHost {
  link: LinkSpec
  identity: string
  profile: string | null
}
export interface TryLine {
  what: string
  worked: boolean
  words: string
}

interface Props {
  instrument: BenchInstrument
  profiles: readonly ProfileRow[]
  /** Where the laboratory's own profiles lie. */
  profileFolder: string
  records: readonly { id: string; name: string }[]
  recordFinder: Finder | undefined
  ports: readonly PortRow[] | undefined
  hosts: readonly FoundHost[] | undefined
  tried: readonly TryLine[] | undefined
  working: string | undefined
  problem: string | undefined
  onChange: (part: Partial<BenchInstrument>) => void
  onUnset: (field: 'serial' | 'register') => void
  onRemove: () => void
  /** Enters the record that the list does not have; undefined for who may not. */
  onNewRecord: (() => void) | undefined
  onTry: () => void
  onPorts: () => void
  onHosts: () => void
}

/** One instrument: which it is, how it is reached, and whether it answers. */
export function InstrumentEditor(props: Props) {
  const { instrument, profiles, records, ports, hosts, tried, working, problem, onChange } = props
  const { link } = instrument
  return (
    <section className="sheet" aria-label={`Instrument ${instrument.name}`}>
      <div className="row row-apart">
        <h2>{instrument.name || 'Instrument'}</h2>
        <Button look="quiet" onPress={props.onRemove}>
          Remove instrument
        </Button>
      </div>
      <Problem words={problem} />
      <Problem words={profiles.find(({ id }) => id === instrument.profile)?.problem ?? undefined} />
      <div className="fields">
        <Field label="Name" value={instrument.name} onChange={(name) => onChange({ name })} />
        <Choice
          label="Profile"
          value={instrument.profile}
          options={profiles.map((p) => ({
            id: p.id,
            name: p.title,
            about: p.problem ?? p.role.replace('-', ' '),
          }))}
          onChange={(profile) => onChange({ profile })}
        />
        <Choice
          label="Record in the register"
          value={instrument.register ?? '-'}
          options={[
            { id: '-', name: 'None' },
            ...records.map(({ id, name }) => ({ id, name })),
            ...(props.onNewRecord
              ? [{ id: NEW_RECORD, name: 'New record', about: 'Entered in the Register' }]
              : []),
          ]}
          finder={props.recordFinder}
          onChange={(id) => {
            if (id === NEW_RECORD) props.onNewRecord?.()
            else if (id === '-') props.onUnset('register')
            else onChange({ register: id })
          }}
        />
        <Field
          label="Serial number it must show"
          value={instrument.serial ?? ''}
          onChange={(serial) => (serial.trim() === '' ? props.onUnset('serial') : onChange({ serial }))}
          about="Empty: the first one seen is kept."
        />
      </div>
      <p className="field-about">
        Profiles of your own go into {props.profileFolder}; a file that changes there is read again by itself.
      </p>
      <LinkFields
        link={link}
        working={working !== undefined}
        firstPort={ports?.[0]?.path}
        onChange={(link) => onChange({ link })}
        onPorts={props.onPorts}
        onHosts={props.onHosts}
      />
      {'path' in link && ports && (
        <ul className="found" aria-label="Serial ports">
          {ports.length === 0 && <li>No serial port was found. Plug the adapter in and look again.</li>}
          {ports.map((port) => (
            <li key={port.path}>
              <Button
                disabled={!port.usable}
                onPress={() =>
                  onChange({
                    link: {
                      ...link,
                      path: port.path,
                      ...(port.usbSerial ? { usbSerial: port.usbSerial } : {}),
                    },
                  })
                }
              >
                {port.path}
              </Button>
              <span className={port.usable ? '' : 'faint'}>{port.words}</span>
            </li>
          ))}
        </ul>
      )}
      {link.kind === 'tcp' && hosts && (
        <ul className="found" aria-label="What answered">
          {hosts.length === 0 && !tried?.some(({ worked }) => worked) && (
            <li>Nothing answered there. Check that the instrument is on and the address is right.</li>
          )}
          {hosts.map((host) => (
            <li key={`${host.identity}${JSON.stringify(host.link)}`}>
              <Button
                onPress={() =>
                  onChange({ link: host.link, ...(host.profile ? { profile: host.profile } : {}) })
                }
              >
                Take this one
              </Button>
              <span>{`${linkWords(host.link)}: ${host.identity}`}</span>
            </li>
          ))}
        </ul>
      )}
      <div className="row">
        <Button right="operate" look="main" onPress={props.onTry} disabled={working !== undefined}>
          {working ?? 'Try it'}
        </Button>
        <span className="faint">
          Opens the link, asks who is there, tries what the profile promises, and closes again.
        </span>
      </div>
      {tried && (
        <ul className="tried" aria-label="What was tried">
          {tried.map((line) => (
            <li key={line.what} className={line.worked ? 'is-good' : 'is-bad'}>
              <span aria-hidden="true">{line.worked ? '✓' : '×'}</span>
              <strong>{line.what}</strong>
              <span>
                <span className="unseen">{line.worked ? 'worked: ' : 'did not work: '}</span>
                {line.words}
              </span>
            </li>
          ))}
        </ul>
      )}
    </section>
  )
}
