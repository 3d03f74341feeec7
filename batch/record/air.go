package record

import (
	"context"

	"sagitta/batch"
)

// newestClimates bounds what the days are told from.
const newestClimates = 100_000

// AirDays returns the mean humidity of each day, by UTC, on which one was noted at inspections, the first before; of the newest 100,000.
func (db *DB) AirDays(ctx context.Context) ([]batch.AirDay, error) {
	all, err := list(ctx, db.reader, func(s scanner) (d batch.AirDay, err error) {
		var at int64
		err = s.Scan(&at, &d.HumidityPercent)
		d.At = instant(at)
		return d, err
	}, `SELECT max(at), avg(humidity_percent) FROM (SELECT at, humidity_percent FROM climates WHERE humidity_percent IS NOT NULL ORDER BY ord DESC LIMIT ?)
		GROUP BY at / 86400000000000 ORDER BY 1`, newestClimates)
	return all, translate(err, "reading the humidities")
}
