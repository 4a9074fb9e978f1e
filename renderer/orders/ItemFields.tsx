import { useEffect, useRef } from 'react'
import type { Thermometer } from '../../app/records/register.ts'
import { Button } from '../parts/Button.tsx'
import { Choice } from '../parts/Choice.tsx'
import { Field } from '../parts/Field.tsx'
import { LANGUAGE_NAMES } from './CustomerFields.tsx'
import { bySerial, ITEM_KINDS, type ItemDraft } from './order.model.ts'

interface Props {
  n: number
  item: ItemDraft
  /** Whether the window's address points at it. */
  addressed: boolean
  /** Its own address, once the order is saved. */
  address: string | undefined
  known: readonly Thermometer[]
  /** Name of the order's customer. */
  owner: string
  problems: Record<string, string>
  onChange: (part: Partial<ItemDraft>) => void
  onRemove: (() => void) | undefined
}

const NONE = '-'
const CLASSES = [
  { id: '-', name: 'No statement asked for' },
  ...(['AA', 'A', 'B', 'C'] as const).map((id) => ({ id, name: `Class ${id} of IEC 60751` })),
] as const

/** One thermometer of an order. A serial number that the register knows brings its record with it. */
export function ItemFields({
  n,
  item,
  addressed,
  address,
  known,
  owner,
  problems,
  onChange,
  onRemove,
}: Props) {
  const back = bySerial(known, item.serial, owner)
  const problem = (field: string) => problems[`${item.id}/${field}`]
  const last = back?.calibrations.at(-1)
  const host = useRef<HTMLFieldSetElement>(null)
  useEffect(() => {
    if (addressed) host.current?.scrollIntoView({ block: 'center' })
  }, [addressed])
  return (
    <fieldset
      ref={host}
      className="sheet order-item"
      aria-label={`Item ${n}`}
      aria-current={addressed || undefined}
    >
      <legend>{address === undefined ? `Item ${n}` : <a href={address}>{`Item ${n}`}</a>}</legend>
      <div className="fields">
        <Field
          label={`Serial number of item ${n}`}
          value={item.serial}
          problem={problem('serial')}
          onChange={(serial) => onChange({ serial, thermometer: bySerial(known, serial, owner)?.id ?? '' })}
        />
        {!back && (
          <>
            <Field
              label={`Name of item ${n}`}
              value={item.name}
              about="As its owner calls it; may stay empty."
              onChange={(name) => onChange({ name })}
            />
            <Choice
              label={`Kind of item ${n}`}
              value={item.kind}
              options={ITEM_KINDS}
              onChange={(kind) => onChange({ kind })}
            />
          </>
        )}
        <Field
          label={`From, item ${n}`}
          numeric
          unit="°C"
          value={item.lowC}
          problem={problem('lowC')}
          onChange={(lowC) => onChange({ lowC })}
        />
        <Field
          label={`To, item ${n}`}
          numeric
          unit="°C"
          value={item.highC}
          problem={problem('highC')}
          onChange={(highC) => onChange({ highC })}
        />
        <Field
          label={`Points of item ${n}`}
          unit="°C"
          value={item.points}
          problem={problem('points')}
          about="Apart by spaces; empty: the laboratory chooses."
          onChange={(points) => onChange({ points })}
        />
        <Field
          label={`Condition of item ${n}`}
          value={item.condition}
          about="As received; may stay empty."
          onChange={(condition) => onChange({ condition })}
        />
        <Choice
          label={`Calibrated, item ${n}`}
          value={item.occasion}
          options={[
            { id: 'as-found', name: 'As found' },
            { id: 'as-left', name: 'As left' },
          ]}
          onChange={(occasion) => onChange({ occasion })}
        />
        <Choice
          label={`Second language, item ${n}`}
          value={item.second || NONE}
          options={[{ id: NONE, name: 'None' }, ...LANGUAGE_NAMES]}
          onChange={(id) => onChange({ second: id === NONE ? '' : id })}
        />
        <Field
          label={`Table of item ${n}, step`}
          numeric
          unit="K"
          value={item.tableStep ?? ''}
          problem={problem('tableStep')}
          about="Interpolation table on the certificate; empty: none."
          onChange={(tableStep) => onChange({ tableStep })}
        />
        <Choice
          label={`Budget of item ${n}`}
          value={item.budget ? 'printed' : NONE}
          options={[
            { id: NONE, name: 'Not on the certificate' },
            { id: 'printed', name: 'On the certificate' },
          ]}
          onChange={(id) => onChange({ budget: id !== NONE })}
        />
        {(back?.kind ?? item.kind) === 'prt' && (
          <Choice
            label={`Conformity of item ${n}`}
            value={item.tolerance || NONE}
            options={CLASSES}
            onChange={(id) => onChange({ tolerance: id === NONE ? '' : id })}
          />
        )}
        {!back && item.tolerance !== '' && (
          <Choice
            label={`Element of item ${n}`}
            value={item.construction || NONE}
            options={[
              { id: NONE, name: 'Not stated: no class is printed' },
              { id: 'wire-wound', name: 'Wire-wound' },
              { id: 'film', name: 'Film' },
            ]}
            onChange={(id) => onChange({ construction: id === NONE ? '' : id })}
          />
        )}
      </div>
      {back && (
        <p className="faint">
          {`${back.name} has been here before: ${last ? `calibrated ${last.date}, certificate ${last.certificate || 'without a number'}` : 'no calibration is kept'}.`}
        </p>
      )}
      {onRemove && (
        <div>
          <Button look="quiet" onPress={onRemove}>{`Take item ${n} out of the order`}</Button>
        </div>
      )}
    </fieldset>
  )
}
