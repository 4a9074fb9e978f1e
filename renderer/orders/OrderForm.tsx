import type { Customer } from '../../app/records/customer.ts'
import type { Thermometer } from '../../app/records/register.ts'
import { Button } from '../parts/Button.tsx'
import { Choice } from '../parts/Choice.tsx'
import { Field } from '../parts/Field.tsx'
import { Problem } from '../parts/Problem.tsx'
import { CustomerFields } from './CustomerFields.tsx'
import { ItemFields } from './ItemFields.tsx'
import {
  type CustomerDraft,
  customerDraft,
  freshItem,
  type ItemDraft,
  NEW_CUSTOMER,
  type OrderDraft,
  ownerOf,
} from './order.model.ts'

interface Props {
  draft: OrderDraft
  customers: readonly Customer[]
  known: readonly Thermometer[]
  /** Item that the address points at. */
  addressed: string | undefined
  /** Address of an item, once the order is saved. */
  addressOf: ((item: string) => string) | undefined
  /** What is missing, by field; shown once somebody has tried to save, or left the field. */
  problems: Record<string, string>
  problem: string | undefined
  changed: boolean
  onChange: (draft: OrderDraft) => void
  onSave: () => void
  onReceipt: (() => void) | undefined
}

const NEW = 'new'
/** Who sends what, and what is asked of it. A customer and a thermometer that are new are entered here, in place. */
export function OrderForm(props: Props) {
  const { draft, customers, known, problems, problem, changed, onChange } = props
  const set = (part: Partial<OrderDraft>) => onChange({ ...draft, ...part })
  const item = (id: string, part: Partial<ItemDraft>) =>
    set({ items: draft.items.map((one) => (one.id === id ? { ...one, ...part } : one)) })
  const add = () => {
    const n = Math.max(0, ...draft.items.map(({ id }) => Number(/-(\d+)$/.exec(id)?.[1] ?? 0))) + 1
    const last = draft.items.at(-1)
    // The next thermometer of an order is most often asked for the same.
    const like = last && { kind: last.kind, lowC: last.lowC, highC: last.highC, points: last.points }
    set({ items: [...draft.items, { ...freshItem(`${draft.id}-${n}`), ...like }] })
  }
  const { newCustomer } = draft
  const chosen = customers.find(({ id }) => id === draft.customer)
  const setNew = (part: Partial<CustomerDraft>) =>
    newCustomer && set({ newCustomer: { ...newCustomer, ...part } })
  return (
    <div className="stack" data-desk="order">
      <div className="fields">
        <Field
          label="Order number"
          value={draft.number}
          problem={problems.number}
          onChange={(number) => set({ number })}
        />
        <Choice
          label="Customer"
          value={newCustomer && newCustomer.id === null ? NEW : draft.customer}
          options={[...customers.map(({ id, name }) => ({ id, name })), { id: NEW, name: 'New customer' }]}
          onChange={(id) =>
            id === NEW
              ? set({ customer: '', newCustomer: NEW_CUSTOMER })
              : set({ customer: id, newCustomer: null })
          }
        />
        <Field
          label="Received"
          value={draft.received}
          problem={problems.received}
          about="Such as 2026-02-10."
          onChange={(received) => set({ received })}
        />
        <Field
          label="Wanted by"
          value={draft.wantedBy}
          problem={problems.wantedBy}
          about="May stay empty."
          onChange={(wantedBy) => set({ wantedBy })}
        />
      </div>
      {!newCustomer && <Problem words={problems.customer} />}
      {!newCustomer && chosen && (
        <div>
          <Button look="quiet" onPress={() => set({ newCustomer: customerDraft(chosen) })}>
            {`Change ${chosen.name}`}
          </Button>
        </div>
      )}
      {newCustomer && <CustomerFields customer={newCustomer} problems={problems} onChange={setNew} />}
      <h3>Items</h3>
      <Problem words={problems.items} />
      {draft.items.map((one, i) => (
        <ItemFields
          key={one.id}
          n={i + 1}
          item={one}
          addressed={one.id === props.addressed}
          address={props.addressOf?.(one.id)}
          known={known}
          owner={ownerOf(draft, customers)}
          problems={problems}
          onChange={(part) => item(one.id, part)}
          onRemove={
            draft.items.length > 1
              ? () => set({ items: draft.items.filter(({ id }) => id !== one.id) })
              : undefined
          }
        />
      ))}
      <div>
        <Button onPress={add}>Add an item</Button>
      </div>
      <Field
        label="Remarks on receipt"
        lines={2}
        value={draft.remarks}
        about="One in each line; they stand on the certificate."
        onChange={(remarks) => set({ remarks })}
      />
      <Problem words={problem} />
      <div className="row">
        <Button look="main" onPress={props.onSave} disabled={!changed}>
          Save the order
        </Button>
        {props.onReceipt && <Button onPress={props.onReceipt}>Print the receipt</Button>}
      </div>
    </div>
  )
}
