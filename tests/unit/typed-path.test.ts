import { expect, it } from 'vitest'
import { pathComplaint, typedPath } from '#core/contracts/within.ts'

it('takes a full path of either kind of system', () => {
  for (const path of [
    '/srv/shop/fleet.tareline',
    '/Volumes/Shop 2/été/fleet.tareline',
    '/srv/con/aux.tareline',
    'C:\\Fleet\\fleet.tareline',
    'd:/fleet/a.b.tareline',
    '\\\\server\\share\\fleet',
    '/srv/shop/..fleet/fleet...',
    'C:\\Fleet\\console\\comrade',
    '/developers/x',
  ])
    expect([path, pathComplaint(path)]).toEqual([path, undefined])
})

it('says what is accepted in place of a path that leads elsewhere than it says', () => {
  const rows: [string, RegExp][] = [
    ['fleet.tareline', /full path/],
    ['./x', /full path/],
    ['~/x', /full path/],
    ['C:fleet', /full path/],
    ['\\x', /full path/],
    ['\\\\.\\PhysicalDrive0', /full path/],
    ['\\\\?\\C:\\x', /full path/],
    ['file:///etc/passwd', /full path/],
    ['http://example.com/x', /full path/],
    ['/a/../b', /without \. or \.\./],
    ['/..', /without \. or \.\./],
    ['C:\\a\\..\\b', /without \. or \.\./],
    ['\\\\server\\share\\..\\x', /without \. or \.\./],
    ['/a\0.tareline', /control/],
    ['/a\nb', /control/],
    ['C:\\Fleet\\NUL', /device/],
    ['C:\\Fleet\\com1.tareline', /device/],
    ['C:\\AUX\\x', /device/],
    ['C:\\Fleet\\nul ', /device/],
    ['C:\\x.tareline:hidden', /colon/],
    ['/dev/sda', /device/],
    ['/proc/self/mem', /device/],
    ['//dev/null', /device/],
    [`/${'a'.repeat(256)}`, /255/],
    [`/${'é'.repeat(128)}`, /255/],
  ]
  for (const [path, words] of rows) expect([path, pathComplaint(path)]).toEqual([path, expect.stringMatching(words)])
})

it('is bounded as a whole', () => {
  expect(typedPath.safeParse(`/${'a/'.repeat(2048)}`).success).toBe(false)
  expect(typedPath.safeParse(' /srv/shop ').data).toBe('/srv/shop')
})
