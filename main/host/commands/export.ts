import { Command, Option } from 'commander'
import { EXPORT_FORMATS, type ExportFormat, exportSession } from '../../store/export/export.ts'
import { findSession } from '../../store/find-session.ts'
import { lostWords } from '../../store/survey.ts'

const HELP = `Formats
  csv      RFC 4180, one reading per line, UTC as ISO 8601, units in the header. No other lines, so that every
           reader takes it; --comments puts what the file is about before the header, in lines that begin with #.
           A cell that a spreadsheet would run as a formula has an apostrophe before it.
  csv-semicolon
           the same with semicolons between cells and a decimal comma, for spreadsheets of countries that write it;
           what the instrument sent keeps its point, behind an apostrophe
  jsonl    one JSON object per reading; value is decimal text with every digit
  parquet  the same columns; value as text, number as its nearest double; what the file is about as metadata
  sqlite-table
           the same columns as the table readings of an SQLite database
  sqlite   a copy of the whole session, also while it runs, verified after it was made

Beside what was stored (channel, raw, value, unit, current, marks) stand the names of channel and thermometer, resistance or
voltage, temperature, the expanded uncertainty of the measuring chain, and the number in the channel's own unit. They are
computed with the calibrations that the session began with.

The file gets its name when all of it is on the disk. Where the session is damaged, what can be read is written, the
lost readings are named, and the exit status is 1.`

/** `stillpoint export SESSION --format F --out FILE`. */
export function exportCommand(): Command {
  return new Command('export')
    .argument('<session>', 'file of the session, or its id with --data')
    .addOption(
      new Option('--format <format>', 'form of the file').choices([...EXPORT_FORMATS]).makeOptionMandatory(),
    )
    .requiredOption('--out <file>', 'file to write')
    .option('--data <folder>', 'data folder of a station')
    .option('--comments', 'csv, csv-semicolon: what the file is about, in # lines before the header')
    .option('--replace', 'write over a file of that name')
    .description('write the readings of a session to a file')
    .addHelpText('after', `\n${HELP}`)
    .action(
      async (
        session: string,
        o: { format: ExportFormat; out: string; data?: string; comments?: boolean; replace?: boolean },
      ) => {
        const { path } = findSession(session, o.data)
        const result = await exportSession(path, {
          format: o.format,
          out: o.out,
          comments: o.comments ?? false,
          replace: o.replace ?? false,
        })
        console.log(
          `${result.path}: ${result.readings} readings, ${result.bytes} bytes, head ${result.head.slice(0, 16)}`,
        )
        for (const stretch of result.lost) console.error(`stillpoint: ${lostWords(stretch)}`)
        if (result.lost.length > 0) process.exitCode = 1
      },
    )
}
