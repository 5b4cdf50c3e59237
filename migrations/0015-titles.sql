-- Logs and news name another report by its number: its title may be removed.

-- Acts 3 and 4: merged, parted. A title that no report has any more says nothing.
UPDATE report_log SET remark = coalesce(
		(SELECT 'field report ' || min(r.id) FROM reports r WHERE r.title = report_log.remark), '')
	WHERE act IN (3, 4);
-- Kind 6: the state of a report.
UPDATE news SET words = coalesce((SELECT 'A steward put it together with field report '
			|| coalesce(r.merged_first, r.merged_into) || '.' FROM reports r
		WHERE r.id = news.report_id AND r.merged_into IS NOT NULL),
		'A steward put it together with another report.')
	WHERE kind = 6 AND words LIKE 'A steward put it together with another report: %';
