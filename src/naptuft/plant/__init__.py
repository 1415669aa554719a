"""The plant as data: work centres, machines, calendars, crews, changeovers and racks."""
