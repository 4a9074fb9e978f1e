import { Field } from '../parts/Field.tsx'
import { OneOf } from '../parts/OneOf.tsx'
import { ImportButton } from './ImportButton.tsx'

type View = 'pictures' | 'table'

interface Props {
  search: string
  view: View
  onSearch: (search: string) => void
  onView: (view: View) => void
  onImport: (file: File) => void
}

/** What is searched for among the sessions, and how they are shown. */
export function SessionFinder({ search, view, onSearch, onView, onImport }: Props) {
  return (
    <>
      <Field
        label="Search sessions"
        type="search"
        value={search}
        onChange={onSearch}
        about="By name, operator, thermometer or day (2026-03-12)."
      />
      <OneOf
        label="Sessions as"
        value={view}
        options={[
          { id: 'pictures', name: 'Pictures' },
          { id: 'table', name: 'Table' },
        ]}
        onChange={onView}
      />
      <ImportButton onImport={onImport} />
    </>
  )
}
