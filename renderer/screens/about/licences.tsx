import { Button, TextInput } from '@mantine/core'
import { useQuery } from '@tanstack/react-query'
import { useState } from 'react'
import { count } from '#renderer/parts/format.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import shipped from './shipped-packages.json'

async function readNotices(): Promise<string> {
  const answer = await fetch('/notices.txt')
  if (!answer.ok) throw new Error('The licences’ texts are not part of this copy of Tareline.')
  return await answer.text()
}

/** The texts, fetched when they are asked for. */
function Notices() {
  const notices = useQuery({ queryKey: ['notices'], queryFn: readNotices })
  if (notices.isPending) return <output className="quiet">Fetching the texts…</output>
  if (notices.isError) return <ProblemNotice title="The texts could not be shown" error={notices.error} />
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard
    <section className="about-notices" aria-label="Texts of the licences" tabIndex={0}>
      <pre>{notices.data}</pre>
    </section>
  )
}

/** The packages of others whose code is in the app, with their licences. */
export function Licences() {
  const [text, setText] = useState('')
  const [open, setOpen] = useState(false)
  const wanted = text.trim().toLowerCase()
  const found = shipped.filter(
    ({ name, license }) => name.toLowerCase().includes(wanted) || license.toLowerCase().includes(wanted),
  )
  return (
    <section className="about-section" aria-labelledby="licences-title">
      <h2 id="licences-title">Licences</h2>
      <p>
        {count(shipped.length)} packages of others are in this app. Their licences allow that; this is who and what.
      </p>
      <div className="about-tools">
        <TextInput
          label="Find a package or licence"
          value={text}
          onChange={(event) => setText(event.currentTarget.value)}
        />
        <Button variant="default" aria-expanded={open} onClick={() => setOpen(!open)}>
          {open ? 'Hide the texts' : 'Show the texts'}
        </Button>
        <output className="quiet">{wanted && `${count(found.length)} found`}</output>
      </div>
      {open && <Notices />}
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard */}
      <section className="about-packages" aria-label="Packages and their licences" tabIndex={0}>
        <table className="sheet-table">
          <thead>
            <tr>
              <th scope="col">Package</th>
              <th scope="col">Version</th>
              <th scope="col">Licence</th>
            </tr>
          </thead>
          <tbody>
            {found.map(({ name, version, license }) => (
              <tr key={`${name} ${version}`}>
                <th scope="row">{name}</th>
                <td>{version}</td>
                <td>{license}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </section>
    </section>
  )
}
