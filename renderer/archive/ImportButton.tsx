import { FileTrigger } from 'react-aria-components'
import { useMay } from '../page/person.ts'
import { Button } from '../parts/Button.tsx'

/** Asks for a table that was recorded elsewhere. */
export function ImportButton({ onImport }: { onImport: (file: File) => void }) {
  const may = useMay('operate')
  if (!may) return null
  return (
    <FileTrigger
      acceptedFileTypes={['.csv', '.tsv', '.txt', 'text/csv']}
      onSelect={(files) => files?.[0] && onImport(files[0])}
    >
      <Button onPress={() => undefined}>Import a table</Button>
    </FileTrigger>
  )
}
